/** The part of Eleventy 3 that this room uses; the package ships no types. */
declare module "@11ty/eleventy" {
  export interface UserConfig {
    addGlobalData(name: string, value: unknown): void;
    on(event: "eleventy.after", listener: () => Promise<void>): void;
    on(
      event: "eleventy.engine.njk",
      listener: (engine: { environment: { extensionsList: unknown[] } }) => void,
    ): void;
    setLibrary(name: "njk", environment: unknown): void;
    addFilter(name: string, filter: (...values: never[]) => unknown): void;
    addTransform(
      name: string,
      transform: (this: { page: { url?: string | false } }, content: string) => string,
    ): void;
    addPlugin(plugin: unknown, options?: object): void;
    addWatchTarget(glob: string, options?: { resetConfig?: boolean }): void;
    setNunjucksEnvironmentOptions(options: object): void;
    setIncludesDirectory(dir: string): void;
    setUseGitIgnore(use: boolean): void;
    setTemplateFormats(formats: string[]): void;
    ignores: Set<string>;
    benchmarkManager: { get(group: string): { setMinimumThresholdMs(ms: number): void } };
  }

  export default class Eleventy {
    constructor(
      input: string,
      output: string,
      options: { quietMode?: boolean; configPath?: string | false; config?: (config: UserConfig) => void },
    );
    disableLogger(): void;
    write(): Promise<unknown>;
  }
}

declare module "@11ty/eleventy-plugin-syntaxhighlight" {
  const plugin: unknown;
  export default plugin;
}
