const months = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
];

/** "2026-10-03" as "3 October 2026"; any other text as it is. */
export function formatDate(date: string): string {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  const month = parts === null ? undefined : months[Number(parts[2]) - 1];
  return parts === null || month === undefined ? date : `${Number(parts[3])} ${month} ${parts[1]}`;
}

/** The short form for the foot of a chart: "3 Oct 2026". */
export function formatShortDate(date: string): string {
  const [day, month, year] = formatDate(date).split(" ");
  return month === undefined || year === undefined ? date : `${day} ${month.slice(0, 3)} ${year}`;
}
