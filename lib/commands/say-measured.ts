const count = (number: number, word: string) => `${number} ${word}${number === 1 ? "" : "s"}`;

/** "3 tests, 1 frame measured now": what a run of the measuring did. */
export function sayMeasured({ tests, fresh }: { tests: number; fresh: number }): string {
  return `${count(tests, "test")}, ${count(fresh, "frame")} measured now`;
}
