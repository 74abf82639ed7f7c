import { createHash } from "node:crypto";
import { mkdir, open, realpath, writeFile } from "node:fs/promises";
import { basename, join, resolve, sep } from "node:path";
import sharp from "sharp";
import { makeSafePath } from "../escape-text.ts";
import type { PagePhoto, ProsePhoto } from "./list-photos.ts";
import type { ProseFaults } from "./prose-faults.ts";

/** Widths in px that a page offers: a phone, the text's measure, the same on a dense screen. */
const widths = [480, 960, 1600] as const;
const mostPhotos = 60;
const largestBytes = 60_000_000;
const largestPixels = 120_000_000;
/** Kinds that pictures of a camera or a phone come in; drawings in text form may hold scripts and are not read. */
const kinds = new Set(["jpeg", "png", "webp", "tiff", "heif"]);

type Refusal = [code: string, found: string, allowed: string, fix: string];

/** The photo's bytes, where it is a plain file below the train's folder and not larger than a camera makes it. */
async function readPhoto(trainDir: string, file: string): Promise<Buffer | Refusal> {
  const path = resolve(trainDir, file);
  const outside: Refusal = [
    "photo-outside",
    `${file}, which leads out of the train's folder`,
    "a file below the train's folder",
    "copy it there, into photos/ for instance",
  ];
  if (file.length > 300 || file.includes("\u0000") || !path.startsWith(resolve(trainDir) + sep))
    return outside;
  const real = await realpath(path).catch(() => null);
  if (real === null)
    return [
      "photo-missing",
      `no file ${file} in the train's folder`,
      "a file that exists",
      "copy it there, or mend its name (capitals count)",
    ];
  if (!real.startsWith((await realpath(trainDir)) + sep)) return outside;
  const handle = await open(real, "r");
  try {
    const facts = await handle.stat();
    if (!facts.isFile() || facts.size > largestBytes)
      return [
        "photo-unreadable",
        `${file}, ${facts.isFile() ? `${facts.size} bytes` : "no plain file"}`,
        `a picture of at most ${largestBytes} bytes`,
        "save it smaller",
      ];
    return await handle.readFile();
  } finally {
    await handle.close();
  }
}

interface DrawnPhoto {
  width: number;
  height: number;
  files: { width: number; bytes: Buffer }[];
}

/**
 * The photo upright, in sRGB, at each width up to its own. What the camera noted beside the picture (place, time, serial
 * number) is left behind: sharp writes none of it unless asked to.
 */
async function drawPhoto(bytes: Buffer): Promise<DrawnPhoto | null> {
  const options = { limitInputPixels: largestPixels, failOn: "error" } as const;
  const facts = await sharp(bytes, options)
    .metadata()
    .catch(() => null);
  if (facts === null || !kinds.has(facts.format ?? "")) return null;
  const own = facts.autoOrient?.width ?? facts.width;
  const chosen = [...widths.filter((width) => width < own), Math.min(own, widths[widths.length - 1])];
  const files: DrawnPhoto["files"] = [];
  let size = { width: 0, height: 0 };
  for (const width of [...new Set(chosen)]) {
    const drawn = await sharp(bytes, options)
      .autoOrient()
      .resize({ width, withoutEnlargement: true })
      .flatten({ background: "#ffffff" })
      .jpeg({ quality: 80, progressive: true })
      .toBuffer({ resolveWithObject: true })
      .catch(() => null);
    if (drawn === null) return null;
    files.push({ width: drawn.info.width, bytes: drawn.data });
    size = { width: drawn.info.width, height: drawn.info.height };
  }
  return { ...size, files };
}

/**
 * Writes every photo of a review into `photos/` of the train's folder on the site, once for each width. `trainDir` is the train's
 * folder of records. What cannot be shown is told as a fault. Photos come back by the token that names them.
 */
export async function writePhotos(
  photos: readonly ProsePhoto[],
  trainDir: string,
  siteDir: string,
  faults: ProseFaults,
): Promise<Map<ProsePhoto["token"], PagePhoto>> {
  const pages = new Map<ProsePhoto["token"], PagePhoto>();
  if (photos.length > mostPhotos)
    faults.add(
      "too-many",
      photos[mostPhotos].place,
      `${photos.length} photos`,
      `at most ${mostPhotos}`,
      "leave some out",
    );
  for (const [at, photo] of photos.slice(0, mostPhotos).entries()) {
    const bytes = await readPhoto(trainDir, photo.file);
    if (!Buffer.isBuffer(bytes)) {
      const [code, ...words] = bytes;
      faults.add(code, photo.place, ...(words as [string, string, string]));
      continue;
    }
    const drawn = await drawPhoto(bytes);
    if (drawn === null) {
      faults.add(
        "photo-unreadable",
        photo.place,
        `${photo.file}, which cannot be read as a picture`,
        "JPEG, PNG, WebP, TIFF or AVIF of at most 120 megapixels",
        "save it as JPEG",
      );
      continue;
    }
    const stem = makeSafePath(basename(photo.file))
      .replace(/\.[^.]*$/, "")
      .slice(0, 40);
    // The digest keeps photos of one name apart, and an address never means another picture after an edit.
    const digest = createHash("sha256").update(bytes).digest("hex").slice(0, 8);
    await mkdir(join(siteDir, "photos"), { recursive: true });
    const files: PagePhoto["files"] = [];
    for (const { width, bytes: written } of drawn.files) {
      const href = `photos/${stem}-${digest}-${width}.jpg`;
      await writeFile(join(siteDir, href), written);
      files.push({ href, width });
    }
    pages.set(photo.token, {
      number: at + 1,
      words: photo.words,
      caption: photo.caption,
      width: drawn.width,
      height: drawn.height,
      files,
    });
  }
  return pages;
}
