import type { ComparedNights, UnitVerdict, Verdict, VerdictUnit } from "../report/results.ts";
import { sayNumber } from "./say-number.ts";

type Units = Record<VerdictUnit, UnitVerdict>;

/** The ways in which corners were compared, as a list in a sentence has them. */
const ways: readonly [Exclude<VerdictUnit, "oneNight">, string][] = [
  ["px", "in pixels"],
  ["arcsec", "on the sky of its own night"],
  ["um", "by the optics' own blur on the sensor"],
  ["matched", "at equal sampling"],
];

export function joinWords(words: readonly string[]): string {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
}

function isCompared(verdict: UnitVerdict): boolean {
  return verdict.difference.value !== null;
}

function describeLead(units: Units): string {
  const compared = ways.filter(([unit]) => isCompared(units[unit]));
  if (compared.length === 0) {
    return "Which side is sharper in the corners cannot be told: there are no stars of both to compare.";
  }
  const pick = (wanted: Verdict) =>
    compared.filter(([unit]) => units[unit].class === wanted).map(([, words]) => words);
  const [a, b, none, open] = [pick("aSharper"), pick("bSharper"), pick("noDifference"), pick("cannotTell")];
  const parts: string[] = [];
  const first = b.length > a.length ? (["B", b] as const) : (["A", a] as const);
  const second = b.length > a.length ? (["A", a] as const) : (["B", b] as const);
  for (const [name, list] of [first, second]) {
    if (list.length > 0) parts.push(`${name} is sharper ${joinWords(list)}`);
  }
  if (none.length > 0) parts.push(`there is no difference that matters ${joinWords(none)}`);
  if (open.length > 0) parts.push(`it cannot be told which is sharper ${joinWords(open)}`);
  return `In the corners ${parts.join("; ")}.`;
}

const other = { aSharper: "bSharper", bSharper: "aSharper" } as const;
const letters = { aSharper: "A", bSharper: "B" } as const;

function isWin(verdict: Verdict): verdict is "aSharper" | "bSharper" {
  return verdict === "aSharper" || verdict === "bSharper";
}

/** Narrower in pixels, and why: said only where the other comparisons rule the optics out. */
function describeSampling(
  units: Units,
  arcsecPerPx: { a: number; b: number } | null,
  sameNight: boolean,
): string {
  const { px, um, matched, oneNight } = units;
  if (!isWin(px.class) || arcsecPerPx === null) return "";
  const winner = px.class;
  const coarser = arcsecPerPx.a > arcsecPerPx.b ? "aSharper" : "bSharper";
  if (coarser !== winner || Math.abs(arcsecPerPx.a / arcsecPerPx.b - 1) < 0.02) return "";
  const notItsOptics = um.class === other[winner] || um.class === "noDifference";
  const notItself = [matched.class, oneNight.class].every((verdict) => verdict !== winner);
  if (!notItsOptics || !notItself) return "";
  const andNight = units.arcsec.class === winner && !sameNight ? " and its night" : "";
  return `${letters[winner]}'s narrower stars in pixels are its coarser sampling${andNight}, not better optics.`;
}

/** What the night did to the comparison on the sky, as far as the calculation under one night tells. */
function describeNightsShare(units: Units, nights: ComparedNights): string {
  const { arcsec, matched, oneNight } = units;
  if (nights.sameNight || !isCompared(oneNight)) return "";
  const under =
    oneNight.class === "noDifference"
      ? "no difference that matters would be left"
      : oneNight.class === "cannotTell"
        ? "it cannot be told which would be sharper"
        : `${letters[oneNight.class]} would be sharper by ${sayNumber(Math.abs(oneNight.difference.value ?? 0), 2)} arcsec`;
  const [seen, left] = [arcsec.difference.value ?? 0, oneNight.difference.value ?? 0];
  if (isWin(arcsec.class) && oneNight.class === arcsec.class && Math.abs(seen) > 1.3 * Math.abs(left)) {
    return `Of the ${sayNumber(Math.abs(seen), 2)} arcsec by which ${letters[arcsec.class]} is narrower on the sky, ${sayNumber(Math.abs(left), 2)} arcsec would be left under one night, by calculation; the rest is the nights'.`;
  }
  const blame =
    isWin(arcsec.class) && oneNight.class !== arcsec.class
      ? `${letters[arcsec.class]}'s narrower stars on the sky${matched.class === arcsec.class ? ", and at equal sampling," : ""} are largely its night's: under`
      : "Under";
  return `${blame} one night${nights.commonNight.value === null ? "" : ` of ${sayNumber(nights.commonNight.value, 1)} arcsec`}, by calculation, ${under}.`;
}

/** The verdict in plain words: who is sharper in what, why where that is known, how far the nights differ, what to shoot. */
export function describeOverall(
  units: Units,
  nights: ComparedNights,
  arcsecPerPx: { a: number; b: number } | null,
): string {
  return [
    describeLead(units),
    describeSampling(units, arcsecPerPx, nights.sameNight),
    describeNightsShare(units, nights),
    nights.sentence,
    ...nights.shoot.slice(0, 1),
  ]
    .filter((sentence) => sentence !== "")
    .join(" ");
}
