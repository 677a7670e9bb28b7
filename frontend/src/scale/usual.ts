// Usual ranges of typed readings, from the evidence pages; outside them the entry is asked again, never refused.
import { oneEvidence } from "../api/client";
import type { Entry, Single } from "../state/entry";

const ranges = new Map<string, { low: number; high: number }>();

export async function learn(kinds: readonly string[]): Promise<void> {
  const missing = kinds.filter((kind) => !ranges.has(kind));
  const found = await Promise.all(missing.map((kind) => oneEvidence(`case.soft.${kind}_mm`)));
  missing.forEach((kind, i) => {
    const record = found[i];
    if (record) ranges.set(kind, { low: record.low, high: record.high });
  });
}

/** Return the first number of the entry that is unusual for its kind, or null. */
export function unusual(kind: string, entry: Entry | undefined): number | null {
  const range = ranges.get(kind);
  if (range === undefined || entry === undefined) return null;
  const parts: Single[] = Array.isArray(entry) ? entry : [entry];
  for (const part of parts) {
    const value = typeof part === "number" ? part : typeof part === "object" ? part.value : undefined;
    if (value !== undefined && (value < range.low || value > range.high)) return value;
  }
  return null;
}
