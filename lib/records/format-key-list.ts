import { listKeys, type RecordKind } from "./describe-keys.ts";

const files: Record<RecordKind, { title: string; where: string }> = {
  train: { title: "A train", where: "`trains/<train>/train.yaml`" },
  test: { title: "A test", where: "`trains/<train>/tests/<test>/test.yaml`" },
  parts: { title: "Parts for several trains", where: "`parts/*.yaml`, any file name" },
  comparison: { title: "A comparison", where: "`comparisons/<comparison>.yaml`" },
  review: {
    title: "The head of a review",
    where: "`trains/<train>/review.md`, between two lines `---` at its top",
  },
  site: { title: "The site", where: "`site.yaml`" },
};

/** Text in a cell of a Markdown table; what looks like a tag ("<id>") is shown, not taken for one. */
const escapeCell = (text: string) =>
  text.replaceAll("|", "\\|").replaceAll("<", "&lt;").replaceAll("\n", " ");

/** docs/records.md: every key of every record, from the same table that the checks and the editor's schemas use. */
export function formatKeyList(): string {
  const sections = (Object.keys(files) as RecordKind[]).map((kind) => {
    const { title, where } = files[kind];
    const rows = listKeys(kind).map(
      ({ key, meaning, allowed, leftOut }) =>
        `| ${escapeCell(key)} | ${escapeCell(meaning)} | ${escapeCell(allowed)} | ${escapeCell(leftOut)} |`,
    );
    return [
      `## ${title}`,
      "",
      where,
      "",
      "| key | meaning | allowed | left out |",
      "|---|---|---|---|",
      ...rows,
    ].join("\n");
  });
  return [
    "# What each record key means",
    "",
    "Records are YAML. Every key ends with its unit: Mm is millimetres, Um micrometres, Px pixels, Deg degrees, Nm",
    "nanometres; numbers stand alone with a decimal point. A key that no record knows is a fault, and the nearest known",
    "one is named. `a.b` means key `b` inside `a`; `a[]` each entry of the list `a`. This page is made from the checks",
    "themselves (`npm run docs`), and a test holds the two together.",
    "",
    sections.join("\n\n"),
    "",
  ].join("\n");
}
