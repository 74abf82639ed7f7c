import { capitalize, nameColour } from "../colour/judge-lateral.ts";
import { isKnown, stateQuantity } from "../maths/state-quantity.ts";
import type { ColourPair, ColourResults } from "./colour-results.ts";
import type { Finding, TestResults } from "./results.ts";

/** Widths that differ by less than this between channels are not worth a sentence (chosen: an eye sees about a tenth). */
const noticedWider = 0.1;

/** A filter's name as a part of a finding's own. */
function makeName(channel: string): string {
  return (
    channel
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, "-")
      .slice(0, 40) || "filter"
  );
}

/** Lateral colour of each pair, worst first; one sentence together where nothing is to be seen. */
function findLateral(colour: ColourResults, path: string): Finding[] {
  const known = colour.pairs
    .map((pair, k) => ({ pair, evidence: [`${path}.pairs.${k}.lateralAtCorner`] }))
    .filter(({ pair }) => isKnown(pair.lateralAtCorner));
  const visible = known.filter(({ pair }) => pair.class === "visible");
  const rest = known.filter(({ pair }) => pair.class !== "visible");
  const found = visible.map(({ pair, evidence }): Finding => {
    const mostlyAir = isMostlyAir(pair);
    return {
      name: `lateral-colour-${makeName(pair.of)}`,
      level: "watch",
      sentence: `${pair.sentence}${mostlyAir ? " Most of it is what the air does at this altitude, not the glass." : ""}`,
      evidence,
      action: mostlyAir
        ? "Test again with the field higher in the sky."
        : `Lay the ${nameColour(pair.of)} images onto the ${nameColour(pair.against)} ones with a scale of their own when stacking; shifting alone leaves tinted stars in the corners.`,
    };
  });
  if (rest.length > 0) {
    found.push({
      name: "lateral-colour",
      level: "pass",
      sentence: rest.map(({ pair }) => pair.sentence).join(" "),
      evidence: rest.flatMap(({ evidence }) => evidence),
      action: null,
    });
  }
  return found;
}

/** Whether the air's unequal refraction makes up half or more of what is seen. */
function isMostlyAir({ lateralAtCorner, airAtCorner }: ColourPair): boolean {
  if (!isKnown(lateralAtCorner) || !isKnown(airAtCorner)) return false;
  const sameWay = lateralAtCorner.value * airAtCorner.value > 0;
  return sameWay && Math.abs(airAtCorner.value) > Math.abs(lateralAtCorner.value) / 2;
}

/** The shift of the whole field: the air's, or more than the air's. */
function findFieldShift(colour: ColourResults, path: string): Finding[] {
  return colour.pairs.flatMap((pair, k): Finding[] => {
    const { constantShift, expectedFromAir, beyondAir } = pair;
    if (!isKnown(constantShift.size) || !isKnown(constantShift.angle)) return [];
    const evidence = [`${path}.pairs.${k}.constantShift`, `${path}.pairs.${k}.expectedFromAir`];
    const told = `${capitalize(nameColour(pair.of))} is shifted against ${nameColour(pair.against)} by ${stateQuantity(constantShift.size, "um")} all over the field`;
    if (!isKnown(expectedFromAir) || !isKnown(beyondAir)) {
      return [
        {
          name: `field-shift-${makeName(pair.of)}`,
          level: "note",
          sentence: `${told}; without the altitude it cannot be told whether the air does this.`,
          evidence,
          action: "Add altitudeDeg to the test.",
        },
      ];
    }
    if (beyondAir.lo > 0) {
      return [
        {
          name: `field-shift-${makeName(pair.of)}`,
          level: "watch",
          sentence: `${told}, ${stateQuantity(beyondAir, "um")} more than the air explains.`,
          evidence: [...evidence, `${path}.pairs.${k}.beyondAir`],
          action:
            "Look for an element or the corrector sitting off centre or tilted: the air’s share turns with the sky, the glass’s with the tube.",
        },
      ];
    }
    return [
      {
        name: `field-shift-${makeName(pair.of)}`,
        level: "note",
        sentence: `${told}; the air alone would shift it by ${stateQuantity(expectedFromAir, "um")} at this altitude: the air explains it.`,
        evidence,
        action: null,
      },
    ];
  });
}

/** Best focus by channel from a sweep, against the depth of focus; without one, widths that differ. */
function findFocus(colour: ColourResults, path: string, depthUm: number | null): Finding[] {
  const reference = nameColour(colour.reference);
  return Object.entries(colour.channels).flatMap(([name, channel]): Finding[] => {
    if (name === colour.reference) return [];
    const { bestFocusOffset: offset } = channel;
    if (isKnown(offset)) {
      const nearest =
        offset.lo <= 0 && offset.hi >= 0 ? 0 : Math.min(Math.abs(offset.lo), Math.abs(offset.hi));
      const beyond = depthUm !== null && nearest > depthUm;
      const way = offset.value > 0 ? "farther from" : "nearer to";
      const size = { ...offset, value: Math.abs(offset.value), ...sizeEnds(offset.lo, offset.hi) };
      const told = `Best focus in ${nameColour(name)} lies ${stateQuantity(size, "um")} ${way} the telescope than in ${reference}`;
      return [
        {
          name: `focus-${makeName(name)}`,
          level: beyond ? "watch" : "note",
          sentence: beyond
            ? `${told}, more than the depth of focus of ${depthUm.toFixed(0)} um.`
            : `${told}${depthUm === null ? "" : `, within the depth of focus of ${depthUm.toFixed(0)} um`}.`,
          evidence: [`${path}.channels.${name}.bestFocusOffset`],
          action: !beyond
            ? null
            : colour.from === "filters"
              ? `Refocus for each filter: move the focuser ${offset.value > 0 ? "out" : "in"} by ${Math.abs(offset.value).toFixed(0)} um from ${reference} to ${nameColour(name)}.`
              : `One position cannot serve all colours: focus between ${reference} and ${nameColour(name)}.`,
        },
      ];
    }
    const own = channel.fwhm.um;
    const other = colour.channels[colour.reference]?.fwhm.um;
    if (!isKnown(own) || !isKnown(other)) return [];
    if (own.value < other.value * (1 + noticedWider) || own.lo < other.hi) return [];
    return [
      {
        name: `width-${makeName(name)}`,
        level: "note",
        sentence: `Stars in the centre are ${(100 * (own.value / other.value - 1)).toFixed(0)} % wider in ${nameColour(name)} than in ${reference}: that channel is out of focus, or its light is less well corrected.`,
        evidence: [`${path}.channels.${name}.fwhm`, `${path}.channels.${colour.reference}.fwhm`],
        action: "Take a focus sweep: it tells best focus channel by channel.",
      },
    ];
  });
}

function sizeEnds(lo: number, hi: number): { lo: number; hi: number } {
  const ends = [Math.abs(lo), Math.abs(hi)].sort((a, b) => a - b);
  return lo <= 0 && hi >= 0 ? { lo: 0, hi: ends[1] } : { lo: ends[0], hi: ends[1] };
}

/** What the latest test with several channels says of false colour. `depthUm`: depth of focus either side. */
export function findColour(tests: readonly TestResults[], depthUm: number | null): Finding[] {
  const colour = tests.findLast((test) => test.colour !== null)?.colour ?? null;
  if (colour === null) return [];
  // Tests that share one evening's colour show it with the first of them.
  const index = tests.findIndex(({ id }) => id === colour.tests[0]);
  const path = `tests.${index}.colour`;
  return [...findLateral(colour, path), ...findFocus(colour, path, depthUm), ...findFieldShift(colour, path)];
}
