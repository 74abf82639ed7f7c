import { describe, expect, it } from "vitest";
import { RECORD_KEYS } from "../../lib/records/describe-keys.ts";
import { makeStartingSite } from "../../lib/records/starting-site.ts";
import { makeStartingTest } from "../../lib/records/starting-test.ts";
import { makeStartingTrain } from "../../lib/records/starting-train.ts";
import { readFiles, testFile, trainFile } from "./content-folder.ts";

const train = makeStartingTrain('Hostile "name": #1 \\ <b>', "../../.schema/train.schema.json");
const test = makeStartingTest("2026-10-03", "../../../../.schema/test.schema.json");
const site = makeStartingSite(".schema/site.schema.json");

const isOff = (line: string) => /^\s*#[^ #]/.test(line) || /^#\s{2,}\S/.test(line);

/** Each text with one switched-off key, and the lines below it, switched on. */
function switchOnEach(text: string): { key: string; text: string }[] {
  const lines = text.split("\n");
  return lines.flatMap((line, start) => {
    const match = /^(\s*)#([A-Za-z]+):/.exec(line);
    if (match === null) return [];
    let end = start + 1;
    while (end < lines.length && /^#\s\s+\S/.test(lines[end])) end++;
    const on = lines.map((other, i) => (i >= start && i < end ? other.replace("#", "") : other));
    return [{ key: match[2], text: on.join("\n") }];
  });
}

describe("starting records", () => {
  it("read without a fault as they stand, with the name word for word", async () => {
    const { faults, content } = await readFiles({ [trainFile]: train, [testFile]: test, "site.yaml": site });
    expect(faults).toEqual([]);
    expect(content.trains[0].record.name).toBe('Hostile "name": #1 \\ <b>');
    expect(content.trains[0].tests[0].record.date).toBe("2026-10-03");
  });

  it.each(switchOnEach(train))(
    "of a train reads without a fault with $key switched on",
    async ({ key, text }) => {
      const { faults, content } = await readFiles({ [trainFile]: text });
      expect(faults).toEqual([]);
      expect(JSON.stringify(content.trains[0].record)).toContain(`"${key}":`);
    },
  );

  it.each(switchOnEach(test))(
    "of a test reads without a fault with $key switched on",
    async ({ key, text }) => {
      const alone = key === "starTable" ? text.replace(/^frames:.*$/m, "") : text;
      const beside = (name: string) => testFile.replace("test.yaml", name);
      const { faults, content } = await readFiles({
        [trainFile]: train,
        [testFile]: alone,
        [beside("stars.csv")]: "X,Y\n",
        [beside("guiding.csv")]: "time_s,ra_arcsec,dec_arcsec\n",
        [beside("wind.csv")]: "time_s,speed_m_s\n",
      });
      expect(faults).toEqual([]);
      const { record } = content.trains[0].tests[0];
      expect(record[key as keyof typeof record]).not.toBeNull();
    },
  );

  it.each(switchOnEach(site))("of the site reads without a fault with $key switched on", async ({ text }) => {
    expect((await readFiles({ [trainFile]: train, "site.yaml": text })).faults).toEqual([]);
  });

  it.each([
    ["train", train],
    ["test", test],
    ["site", site],
  ] as const)(
    "of a %s name the schema, explain every key of the first step, and stay within 110 columns",
    (kind, text) => {
      expect(text.split("\n")[0]).toMatch(/^# yaml-language-server: \$schema=\S+\.schema\.json$/);
      const keys = Object.keys(RECORD_KEYS[kind]).filter((key) => !/[.[]/.test(key));
      for (const key of keys) expect(text).toMatch(new RegExp(`^#?${key}:`, "m"));
      expect(text.split("\n").filter((line) => line.length > 110 && !isOff(line))).toEqual([]);
    },
  );
});
