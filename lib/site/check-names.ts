import type { Fault } from "../fault.ts";

const allowedId = /^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$/;
const allowedWords =
  "letters, digits, dot, hyphen and underscore, at most 100, starting with a letter or digit";

/** Ids become folders and addresses; what could leave the site's folder or meet another's is refused by name. */
export function checkNames(
  trains: readonly { id: string; tests: readonly { id: string }[] }[],
  comparisons: readonly { id: string }[] = [],
): Fault[] {
  const faults: Fault[] = [];
  const compared = new Set<string>();
  for (const { id } of comparisons) {
    const file = `comparisons/${id}.yaml`;
    if (!allowedId.test(id)) faults.push(makeFault("site/unsafe-name", file, id, allowedWords));
    if (compared.has(id.toLowerCase()))
      faults.push(makeFault("site/same-name", file, id, "a name no other comparison has, capitals apart"));
    compared.add(id.toLowerCase());
  }
  const seen = new Set<string>();
  for (const { id, tests } of trains) {
    if (!allowedId.test(id)) faults.push(makeFault("site/unsafe-name", `trains/${id}`, id, allowedWords));
    if (seen.has(id.toLowerCase())) {
      faults.push(
        makeFault("site/same-name", `trains/${id}`, id, "a name no other train has, capitals apart"),
      );
    }
    seen.add(id.toLowerCase());
    const ofTests = new Set<string>();
    for (const test of tests) {
      const file = `trains/${id}/tests/${test.id}`;
      if (!allowedId.test(test.id)) faults.push(makeFault("site/unsafe-name", file, test.id, allowedWords));
      if (ofTests.has(test.id.toLowerCase())) {
        faults.push(
          makeFault("site/same-name", file, test.id, "a name no other test of the train has, capitals apart"),
        );
      }
      ofTests.add(test.id.toLowerCase());
    }
  }
  return faults;
}

function makeFault(code: string, file: string, found: string, allowed: string): Fault {
  return { code, file, found: `"${found}"`, allowed, fix: "rename the folder" };
}
