/** Days of a month, 1 to 12, in the Gregorian calendar. */
function countDays(year: number, month: number): number {
  return new Date(Date.UTC(year, month, 0)).getUTCDate();
}

/** Whether `text` is a day of the calendar written year-month-day, of the years in which there are digital cameras. */
export function isRealDate(text: string): boolean {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (match === null) return false;
  const [year, month, day] = match.slice(1).map(Number);
  return (
    year >= 1970 && year <= 2199 && month >= 1 && month <= 12 && day >= 1 && day <= countDays(year, month)
  );
}

/** The edit that makes `text` a date, in one sentence. */
export function suggestDate(text: string): string {
  const ordered = /^(\d{4})[-./\s](\d{1,2})[-./\s](\d{1,2})(?:[T\s].*)?$/.exec(text.trim());
  if (ordered !== null) {
    const [year, month, day] = ordered.slice(1, 4);
    const padded = `${year}-${month.padStart(2, "0")}-${day.padStart(2, "0")}`;
    if (isRealDate(padded)) return `write ${padded}`;
    if (Number(month) >= 1 && Number(month) <= 12) {
      return `that month has ${countDays(Number(year), Number(month))} days; write the evening's date`;
    }
    return "months run from 01 to 12, and come before the day; write year-month-day";
  }
  // Day first with points is unambiguous; with slashes both orders are in use.
  const dayFirst = /^(\d{1,2})\.(\d{1,2})\.(\d{4})$/.exec(text.trim());
  if (dayFirst !== null) {
    const padded = `${dayFirst[3]}-${dayFirst[2].padStart(2, "0")}-${dayFirst[1].padStart(2, "0")}`;
    if (isRealDate(padded)) return `write ${padded}`;
  }
  return "write it as year-month-day, for instance 2026-10-03";
}
