import type { FlatsMeasurement } from "../light/flat-measurement.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { ChannelMeasurement, FrameMeasurement } from "../stars/frame-measurement.ts";
import { storeStars } from "../stars/star-digits.ts";

/** Largest difference between two columns of equal length, in the column's unit; null where nothing differs. */
function compareColumn(before: readonly (number | null)[], now: readonly (number | null)[]): number | null {
  let largest: number | null = null;
  before.forEach((old, row) => {
    const fresh = now[row];
    if (old === fresh) return;
    const difference = old === null || fresh === null ? Number.POSITIVE_INFINITY : Math.abs(old - fresh);
    largest = Math.max(largest ?? 0, difference);
  });
  return largest;
}

function compareChannel(before: ChannelMeasurement, now: ChannelMeasurement): string[] {
  const [old, fresh] = [storeStars(before.stars), storeStars(now.stars)];
  if (old.flags.length !== fresh.flags.length) {
    return [`${fresh.flags.length} stars where ${old.flags.length} are stored`];
  }
  return Object.entries(old).flatMap(([name, column]) => {
    const largest = compareColumn(column, fresh[name as keyof typeof fresh]);
    if (largest === null) return [];
    return [
      `${name} differs by up to ${Number.isFinite(largest) ? Number(largest.toPrecision(3)) : "a value where there was none"}`,
    ];
  });
}

/** What differs between stored and fresh measurements of a test's frames, a sentence each; digits as stored. */
export function compareFrames(
  before: readonly FrameMeasurement[],
  now: readonly FrameMeasurement[],
): string[] {
  const sentences: string[] = [];
  for (const old of before) {
    const fresh = now.find(({ file }) => file === old.file);
    if (fresh === undefined) {
      sentences.push(`${old.file} is stored but no longer named by the record or at hand`);
      continue;
    }
    if (fresh.sha256 !== old.sha256)
      sentences.push(`${old.file} is not the file that was measured (its sha256 differs)`);
    for (const channel of old.channels) {
      const same = fresh.channels.find((part) => part.channel === channel.channel);
      const found = same === undefined ? ["is not there any more"] : compareChannel(channel, same);
      sentences.push(...found.map((sentence) => `${old.file}, channel ${channel.channel}: ${sentence}`));
    }
  }
  for (const fresh of now) {
    if (!before.some(({ file }) => file === fresh.file))
      sentences.push(`${fresh.file} is not in what is stored`);
  }
  return sentences;
}

/** The same of what pixels say of colour and of the Moon's limb, each as stored. */
export function compareColours(before: TestMeasurement, now: TestMeasurement): string[] {
  const parts = [
    ["colour", before.colour?.halos, now.colour?.halos],
    ["colour", before.colour?.leans, now.colour?.leans],
    ["edge", before.edge?.frames, now.edge?.frames],
  ] as const;
  return parts.flatMap(([name, old, fresh]) => {
    if (old === undefined && fresh === undefined) return [];
    if (old === undefined) return [`${name} is not in what is stored`];
    if (fresh === undefined) return [`${name} is stored but no longer measured`];
    return JSON.stringify(old) === JSON.stringify(fresh) ? [] : [`${name}: the numbers differ`];
  });
}

/** The same of the flats: files by their digests, then each channel as stored. */
export function compareFlats(
  before: FlatsMeasurement | undefined,
  now: FlatsMeasurement | undefined,
): string[] {
  if (before === undefined && now === undefined) return [];
  if (before === undefined) return ["flats are not in what is stored"];
  if (now === undefined) return ["flats are stored but no longer named by the record"];
  const list = (flats: FlatsMeasurement) => flats.files.map(({ file, sha256 }) => `${file} ${sha256}`);
  const files = list(before).join() === list(now).join() ? [] : ["the flats are not the files measured"];
  const channels = before.channels.flatMap((old) => {
    const fresh = now.channels.find(({ channel }) => channel === old.channel);
    if (fresh === undefined) return [`flats, channel ${old.channel}: is not there any more`];
    return JSON.stringify(fresh) === JSON.stringify(old)
      ? []
      : [`flats, channel ${old.channel}: the light differs`];
  });
  return [...files, ...channels];
}
