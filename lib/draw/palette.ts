/**
 * Colours of the figures. One way from violet over teal to yellow with hue and lightness in even steps of OKLCH
 * (Ottosson 2020, "A perceptual color space for image processing"). The ends were found by trying a grid of them for
 * the largest least difference of any two series, and of these from ink, as seen with full, protan and deutan sight at
 * a contrast of 3 : 1 on the paper; steps of lightness stay apart in grey print.
 */
export interface ColourLch {
  lightness: number;
  chroma: number;
  hueDeg: number;
}

function toGamma(linear: number): number {
  const clipped = Math.min(1, Math.max(0, linear));
  return clipped <= 0.0031308 ? 12.92 * clipped : 1.055 * clipped ** (1 / 2.4) - 0.055;
}

function fromGamma(value: number): number {
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}

/** OKLCH to linear sRGB, which may lie outside 0 to 1. Matrices: Ottosson 2020. */
function toLinear({ lightness, chroma, hueDeg }: ColourLch): number[] {
  const a = chroma * Math.cos((hueDeg * Math.PI) / 180);
  const b = chroma * Math.sin((hueDeg * Math.PI) / 180);
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  return [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ];
}

/** OKLCH to "#rrggbb"; what lies outside sRGB is clipped. */
export function formatColour(colour: ColourLch): string {
  return `#${toLinear(colour)
    .map((value) =>
      Math.round(toGamma(value) * 255)
        .toString(16)
        .padStart(2, "0"),
    )
    .join("")}`;
}

/** The three linear sRGB values of "#rrggbb", 0 to 1. */
export function readLinearColour(colour: string): [number, number, number] {
  const read = (at: number) => fromGamma(Number.parseInt(colour.slice(at, at + 2), 16) / 255);
  return [read(1), read(3), read(5)];
}

/** Contrast of two colours, 1 to 21. WCAG 2.2, "contrast ratio" and "relative luminance". */
export function computeContrast(one: string, other: string): number {
  const [low, high] = [one, other]
    .map((colour) => {
      const [red, green, blue] = readLinearColour(colour);
      return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    })
    .sort((a, b) => a - b);
  return (high + 0.05) / (low + 0.05);
}

/** The colour with as much of its chroma as sRGB can show; lightness and hue stay. */
function fitToScreen(colour: ColourLch): ColourLch {
  let { chroma } = colour;
  while (chroma > 0 && toLinear({ ...colour, chroma }).some((value) => value < 0 || value > 1))
    chroma -= 0.001;
  return { ...colour, chroma: Math.max(0, chroma) };
}

/** `count` colours from one end to the other in even steps. */
export function makeSequence(from: ColourLch, to: ColourLch, count: number): string[] {
  return Array.from({ length: count }, (_, k) => {
    const t = count === 1 ? 0 : k / (count - 1);
    const colour = {
      lightness: from.lightness + (to.lightness - from.lightness) * t,
      chroma: from.chroma + (to.chroma - from.chroma) * t,
      hueDeg: from.hueDeg + (to.hueDeg - from.hueDeg) * t,
    };
    return formatColour(fitToScreen(colour));
  });
}

/** Names and values of a ground: chosen so that marks keep a contrast of 3 : 1 and letters one of 4.5 : 1. */
export interface Ground {
  paper: string;
  ink: string;
  inkSoft: string;
  rule: string;
  accent: string;
  series: string[];
}

export const grounds: { light: Ground; dark: Ground } = {
  light: {
    paper: "#ffffff",
    ink: "#1b1b1b",
    inkSoft: "#5c5c58",
    rule: "#8a8a84",
    accent: "#9a3412",
    series: makeSequence(
      { lightness: 0.28, chroma: 0.16, hueDeg: 300 },
      { lightness: 0.66, chroma: 0.16, hueDeg: 105 },
      4,
    ),
  },
  dark: {
    paper: "#000000",
    ink: "#e8e6e1",
    inkSoft: "#a8a6a0",
    rule: "#6e6c68",
    accent: "#f0996b",
    series: makeSequence(
      { lightness: 0.5, chroma: 0.16, hueDeg: 320 },
      { lightness: 0.86, chroma: 0.16, hueDeg: 105 },
      4,
    ),
  },
};

/** CSS declarations of a ground's variables, for a style sheet's :root or a dark media query. */
export function formatGroundCss(ground: Ground): string {
  const named: [string, string][] = [
    ["--paper", ground.paper],
    ["--ink", ground.ink],
    ["--ink-soft", ground.inkSoft],
    ["--rule", ground.rule],
    ["--accent", ground.accent],
    ...ground.series.map((colour, k): [string, string] => [`--series-${k + 1}`, colour]),
  ];
  return named.map(([name, value]) => `${name}: ${value};`).join("\n");
}

const { light } = grounds;

/** Colours as figures use them: the page's variable, with the light ground's value where no page sets one. */
export const colours = {
  paper: `var(--paper, ${light.paper})`,
  ink: `var(--ink, ${light.ink})`,
  inkSoft: `var(--ink-soft, ${light.inkSoft})`,
  rule: `var(--rule, ${light.rule})`,
  accent: `var(--accent, ${light.accent})`,
  series: light.series.map((colour, k) => `var(--series-${k + 1}, ${colour})`),
} as const;
