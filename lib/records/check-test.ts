import { posix } from "node:path";
import { contradict } from "./check-parts.ts";
import type { Finding } from "./finding.ts";
import { STAR_TABLE_COLUMNS } from "./star-table-columns.ts";
import type { StarTableRecord, TestRecord, TrainRecord } from "./types.ts";

/** Where the test stands: what a record may contradict outside itself. */
export interface TestSetting {
  /** Name of the test's folder. */
  id: string;
  /** Folder of the test relative to the content folder, forward slashes. */
  folder: string;
  /** Null where the train's own record has faults. */
  train: TrainRecord | null;
}

/** What contradicts itself or its train in a test whose keys each are possible. */
export function checkTest(test: TestRecord, setting: TestSetting): Finding[] {
  return [
    ...checkSomethingToMeasure(test),
    ...checkDate(test, setting.id),
    ...checkSpacersPlace(test, setting.train),
    ...checkCounts(test),
    ...(test.starTable === null ? [] : checkColumns(test.starTable)),
    ...checkFilesInside(test, setting.folder),
  ];
}

function checkSomethingToMeasure(test: TestRecord): Finding[] {
  const hasFrames = test.frames.length > 0;
  const others = [test.sweep, test.starTable, test.edge];
  if (!hasFrames && test.flats.length === 0 && others.every((part) => part === null)) {
    return [
      {
        code: "records/nothing-to-measure",
        path: ["frames"],
        at: "key",
        found: "none of frames, flats, sweep, starTable and edge",
        allowed: "at least one of them",
        fix: "add a line such as  frames: [frames/field-*.fits]",
      },
    ];
  }
  if (!hasFrames || test.starTable === null) return [];
  const found = "both frames and a star table";
  return [
    contradict(
      ["starTable"],
      found,
      "one of the two: a star table stands in for frames",
      "take one of them out",
    ),
  ];
}

function checkDate(test: TestRecord, id: string): Finding[] {
  const inName = /^\d{4}-\d{2}-\d{2}(?![0-9])/.exec(id)?.[0];
  if (inName === undefined || inName === test.date) return [];
  const fix = `write ${inName}, or rename the folder to ${test.date}${id.slice(inName.length)}`;
  return [
    contradict(
      ["date"],
      `${test.date} in the folder ${id}`,
      "the date that the folder's name begins with",
      fix,
    ),
  ];
}

function checkSpacersPlace(test: TestRecord, train: TrainRecord | null): Finding[] {
  if (test.spacersMm === null || train === null) return [];
  if (train.stack.some((item) => "spacersMm" in item)) return [];
  return [
    contradict(
      ["spacersMm"],
      "spacers for a train whose stack has no place for them",
      "a list that replaces the one in the train's stack",
      "add  - { spacersMm: [] }  to the stack in train.yaml, where the spacers go",
    ),
  ];
}

/** A list with one number for each frame can be counted here only where every frame is named and no pattern used. */
function countNamed(patterns: readonly string[]): number | null {
  return patterns.some((pattern) => /[*?[\]{}()!]/.test(pattern)) ? null : patterns.length;
}

function checkCounts(test: TestRecord): Finding[] {
  const findings: Finding[] = [];
  const compare = (path: string[], list: readonly number[], frames: readonly string[]) => {
    const named = countNamed(frames);
    if (named === null || named === list.length) return;
    const found = `${list.length} numbers for ${named} frames`;
    findings.push(
      contradict(path, found, "one for each frame, in the same order", "add or take out numbers or frames"),
    );
  };
  if (Array.isArray(test.focusOffsetUm)) compare(["focusOffsetUm"], test.focusOffsetUm, test.frames);
  const positions = test.sweep?.positions;
  if (test.sweep !== null && Array.isArray(positions)) {
    compare(["sweep", "positions"], positions, test.sweep.frames);
    const different = new Set(positions).size;
    if (different < 3) {
      const found = `only ${different} different position${different === 1 ? "" : "s"}`;
      const allowed = "at least three; nine or more tell best";
      findings.push(
        contradict(["sweep", "positions"], found, allowed, "give each frame its own focuser position"),
      );
    }
  }
  return findings;
}

function checkColumns({ columns, units }: StarTableRecord): Finding[] {
  const findings: Finding[] = [];
  const has = (word: string) => columns[word] !== undefined;
  const hasWidth = has("fwhm") || (has("fwhmMajor") && has("fwhmMinor"));
  if (!has("x") || !has("y") || !hasWidth) {
    const found = Object.keys(columns).join(", ") || "no columns";
    const allowed = "x and y, and fwhm or fwhmMajor with fwhmMinor";
    findings.push(
      contradict(["starTable", "columns"], found, allowed, "name the headings of these columns too"),
    );
  }
  for (const [word, unit] of Object.entries(units)) {
    const allowed = STAR_TABLE_COLUMNS[word] ?? [];
    if (!has(word)) {
      const fix = `take it out, or add ${word} to columns`;
      findings.push(
        contradict(["starTable", "units", word], `a unit for ${word}`, "units of columns named above", fix),
      );
    } else if (!allowed.includes(unit)) {
      const words = allowed.length === 0 ? "no unit: a plain number" : allowed.join(", ");
      const fix = allowed.length === 0 ? "take it out" : `write ${allowed[0]}, or convert the column`;
      findings.push(contradict(["starTable", "units", word], unit, words, fix));
    }
  }
  return findings;
}

/**
 * Frames may lie anywhere, but these small tables are read as text and may be quoted: a stranger's record must not
 * reach for other files of the machine.
 */
function checkFilesInside(test: TestRecord, folder: string): Finding[] {
  const keys = ["starTable", "guiding", "wind"] as const;
  return keys.flatMap((key) => {
    const file = test[key]?.file;
    if (file === undefined || isInside(folder, file)) return [];
    const found = `${file.slice(0, 60)}, outside the content folder`;
    return [
      contradict([key, "file"], found, "a file inside the content folder", "copy the file beside test.yaml"),
    ];
  });
}

/** Whether `file`, relative to `folder`, stays within the content folder that `folder` is relative to. */
export function isInside(folder: string, file: string): boolean {
  const path = posix.normalize(posix.join(folder, file));
  return !posix.isAbsolute(file) && path !== ".." && !path.startsWith("../");
}
