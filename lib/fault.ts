/**
 * One thing that is wrong with what the user gave, told so that it can be mended:
 * where, what was found, what is allowed, what to change.
 */
export interface Fault {
  /** Stable name of the kind of fault, room first: "records/unknown-key". */
  code: string;
  /** Path as the user would type it, relative to where the command runs. */
  file: string;
  line?: number;
  column?: number;
  /** Key path in a record ("camera.pixelPitchUm") or header keyword. */
  key?: string;
  found: string;
  allowed: string;
  fix: string;
}

/** Thrown when work cannot go on; carries every fault known by then, never only the first. */
export class ReportError extends Error {
  readonly faults: readonly Fault[];

  constructor(faults: readonly Fault[], options?: { cause?: unknown }) {
    super(faults.map(formatFault).join("\n"), options);
    this.name = "ReportError";
    this.faults = faults;
  }
}

const longestTextShown = 200;

/** Control characters would let a hostile record rewrite the terminal; endless text would bury the message. */
function showText(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to be made visible
  const visible = text.replace(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, "\ufffd");
  return visible.length > longestTextShown ? `${visible.slice(0, longestTextShown)}…` : visible;
}

/** The fault as lines for a terminal: place first, then found, allowed and the edit to make. */
export function formatFault(fault: Fault): string {
  const line = fault.line === undefined ? "" : `:${fault.line}`;
  const column = fault.line === undefined || fault.column === undefined ? "" : `:${fault.column}`;
  const key = fault.key === undefined ? "" : ` at ${showText(fault.key)}`;
  return [
    `${fault.code}: ${showText(fault.file)}${line}${column}${key}`,
    `  found    ${showText(fault.found)}`,
    `  allowed  ${showText(fault.allowed)}`,
    `  fix      ${showText(fault.fix)}`,
  ].join("\n");
}
