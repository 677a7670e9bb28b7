// Usual ranges of typed readings, from the evidence pages; outside them the entry is asked again; outside the range of the case file it is not taken.
import { oneEvidence } from "../api/client";
import type { Entry, Single } from "../state/entry";

export interface Range {
  low: number;
  high: number;
}

const ranges = new Map<string, Range>();

export async function learn(kinds: readonly string[]): Promise<void> {
  const missing = [...kinds, APART].filter((kind) => !ranges.has(kind));
  const found = await Promise.all(missing.map((kind) => oneEvidence(`case.soft.${kind}_mm`)));
  missing.forEach((kind, i) => {
    const record = found[i];
    if (record) ranges.set(kind, { low: record.low, high: record.high });
  });
}

/** Return the first number of the entry that is unusual for its kind, or null. */
export const unusual = (kind: string, entry: Entry | undefined): number | null =>
  outside(ranges.get(kind), entry, (part) => part.value);

const APART = "repeats_apart";

/** Whether repeats of one reading lie further apart than usual. */
export const unusualSpread = (apart_mm: number): boolean => apart_mm > (ranges.get(APART)?.high ?? Infinity);

/** Return the first number of the entry that no case file takes, or null. */
export const impossible = (range: Range | null, entry: Entry | undefined): number | null =>
  outside(range, entry, (part) => part.value ?? part.beyond);

function outside(range: Range | null | undefined, entry: Entry | undefined, of: (part: Exclude<Single, number | string>) => number | undefined): number | null {
  if (!range || entry === undefined) return null;
  const parts: Single[] = Array.isArray(entry) ? entry : [entry];
  const numbers = parts.map((part) => (typeof part === "number" ? part : typeof part === "object" ? of(part) : undefined));
  return numbers.find((value) => value !== undefined && (value < range.low || value > range.high)) ?? null;
}
