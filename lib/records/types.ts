/** What the records say once read, checked and their parts resolved. Keys are those the user writes. */

export interface Glass {
  thicknessMm: number;
  index: number;
}

export interface PricePaid {
  amount: number;
  /** ISO 4217. */
  currency: string;
  year?: number;
}

/** What a buyer asks of a part beside its optics; nothing of it enters a measurement. */
export interface EquipmentFacts {
  weightG?: number;
  pricePaid?: PricePaid;
  thread?: string;
  included?: string[];
  missing?: string[];
}

export interface Focuser {
  travelMm?: number;
  clearDiameterMm?: number;
  fineRatio?: number;
  loadG?: number;
  rotator?: boolean;
}

/** Something used that is not part of the optics. */
export interface EquipmentItem extends EquipmentFacts {
  item: string;
  name?: string;
  note?: string;
}

/** How the equipment came to the author, and who had a say in the text. */
export interface Disclosure {
  obtained: "bought" | "boughtUsed" | "lent" | "given" | "builtByAuthor" | "clubOwned";
  from?: string;
  goesBack?: boolean;
  copies?: number;
  say: "nobody" | "factsChecked" | "approved";
  readBy?: string[];
  ties?: string;
}

/** What stands at the head of review.md. */
export interface ReviewRecord {
  draft: boolean;
  /** One sentence; empty where none is given. */
  summary: string;
}

export interface Telescope extends EquipmentFacts {
  name: string;
  bodyLengthMm?: number;
  focuser?: Focuser;
  apertureMm: number;
  focalLengthMm: number;
  obstructionMm: number;
}

export type RadialMeans = "tooClose" | "tooFar" | "unknown";

export interface Corrector extends EquipmentFacts {
  name: string;
  bodyLengthMm?: number;
  kind: "reducer" | "flattener" | "extender";
  factor: number;
  backFocusMm: number;
  radialMeans: RadialMeans;
  exitPupilMm?: number;
}

/** A ring, drawer, nosepiece or other part of fixed length. */
export interface StackPart extends EquipmentFacts {
  part: string;
  lengthMm: number;
  clearDiameterMm?: number;
  glass?: Glass;
  offsetMm?: { x: number; y: number };
}

/** The place where spacers and shims go; a test may replace the list. */
export interface StackSpacers {
  spacersMm: number[];
  clearDiameterMm?: number;
  offsetMm?: { x: number; y: number };
}

export type StackItem = StackPart | StackSpacers;

export type CfaPattern = "none" | "RGGB" | "BGGR" | "GRBG" | "GBRG";

export interface Camera extends EquipmentFacts {
  name: string;
  bodyLengthMm?: number;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  flangeMm: number;
  windowGlass: Glass;
  /** As displayed from the upper left; absent where the record is silent and a header may tell. */
  cfa?: CfaPattern;
  /** Middle of the pixels' passbands. */
  coloursNm?: { R: number; G: number; B: number };
  gainElectronsPerAdu?: number;
  readNoiseElectrons?: number;
  saturationAdu?: number;
  biasAdu?: number;
}

export interface Adjuster {
  screws: { angleDeg: number; radiusMm: number }[];
  pitchMm: number;
}

/** A flange under which shims can go, in place of screws. */
export interface ShimPlaces {
  shims: { angleDeg: number; radiusMm: number }[];
  /** Thicknesses of the shims at hand, mm; empty: any whole hundredth. */
  thicknessesMm: number[];
}

export interface Tolerances {
  cornerFwhmOverCentre?: number;
  cornerEllipticity?: number;
  cornerLightPercent?: number;
  tiltAcrossUm?: number;
  spacingErrorMm?: number;
}

export interface TrainRecord {
  name: string;
  telescope: Telescope;
  corrector: Corrector | null;
  stack: StackItem[];
  camera: Camera;
  spacersOwnedMm: number[];
  adjuster: Adjuster | ShimPlaces | null;
  tolerances: Tolerances;
  equipment?: EquipmentItem[];
  disclosure?: Disclosure;
}

export interface FilterRecord {
  name: string;
  glass?: Glass;
  wavelengthNm?: number;
}

export interface StarTableRecord {
  file: string;
  columns: Record<string, string>;
  units: Record<string, string>;
}

export interface TestRecord {
  date: string;
  frames: string[];
  focusOffsetUm: number | number[];
  flats: string[];
  bias: string[];
  sweep: { frames: string[]; positions: string | number[]; umPerStep: number } | null;
  spacersMm: number[] | null;
  filter: FilterRecord | null;
  cameraAngleDeg: number | null;
  altitudeDeg: number | string | null;
  zenithAngleDeg: number | null;
  starTable: StarTableRecord | null;
  edge: { frames: string[] } | null;
  guiding: { file: string } | null;
  wind: { file: string } | null;
  conditions: Record<string, string | number>;
  notes: string;
}

export interface SiteRecord {
  title: string;
  author: string;
  club: string;
  baseUrl: string;
  language: string;
  tolerances: Tolerances;
}

export interface ComparisonRecord {
  name: string;
  a: { train: string; test?: string };
  b: { train: string; test?: string };
}

/** A file of the user's, kept word for word for the page and the provenance. */
export interface SourceText {
  /** Relative to the content folder, with forward slashes. */
  file: string;
  text: string;
  sha256: string;
}

/** The author's prose. */
export interface ReviewEntry extends SourceText {
  record: ReviewRecord;
  /** The prose without its head: the head's lines are left empty, so that lines count as in the file. */
  markdown: string;
}

export interface TestEntry {
  id: string;
  /** Absolute folder of the record; paths in it are relative to this. */
  dir: string;
  record: TestRecord;
  source: SourceText;
  starTableText: string | null;
  /** Text of the guider's log and of the wind's; null or absent where the test names none. */
  guidingText?: string | null;
  windText?: string | null;
}

export interface TrainEntry {
  id: string;
  dir: string;
  record: TrainRecord;
  source: SourceText;
  /** Parts from content/parts that the record names. */
  partSources: SourceText[];
  review: ReviewEntry | null;
  tests: TestEntry[];
}

export interface ComparisonEntry {
  id: string;
  record: ComparisonRecord;
  source: SourceText;
}

export interface Content {
  dir: string;
  site: SiteRecord;
  siteSource: SourceText | null;
  trains: TrainEntry[];
  comparisons: ComparisonEntry[];
}
