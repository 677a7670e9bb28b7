// What is typed into a cell of the readings, and what stands in the case document. Pure.
export type Single = number | string | { value?: number; beyond?: number; error?: number; [key: string]: unknown };
export type Entry = Single | Single[];

export type Typed = { ok: true; entry: Entry | undefined } | { ok: false };

/** Show an entry as it would be typed: "3.0 3.5", ">10", "3.0 ±0.6"; words stay words. */
export function shown(entry: Entry | undefined): string {
  if (entry === undefined) return "";
  if (Array.isArray(entry)) return entry.map((part) => shown(part)).join(" ");
  if (typeof entry === "number") return entry.toFixed(1).replace("-", "−");
  if (typeof entry === "string") return entry === "not applicable" ? "n/a" : "×";
  if (entry.beyond !== undefined) return `>${entry.beyond.toFixed(1)}`;
  const error = entry.error === undefined ? "" : ` ±${entry.error.toFixed(1)}`;
  return `${(entry.value ?? 0).toFixed(1).replace("-", "−")}${error}`;
}

/** Read what was typed. A comma is a point; digits run together without a point stay one number. */
export function typed(text: string): Typed {
  const parts = text.replace(/[−–]/g, "-").replace(/,/g, ".").replace(/\s*±\s*/g, "±").trim().split(/\s+/).filter(Boolean);
  if (parts.length === 0) return { ok: true, entry: undefined };
  const entries: Single[] = [];
  for (const part of parts) {
    const entry = single(part);
    if (entry === undefined) return { ok: false };
    entries.push(entry);
  }
  return { ok: true, entry: entries.length === 1 ? entries[0] : entries };
}

function single(part: string): Single | undefined {
  if (part === "×" || part === "x") return "not measurable";
  if (part === "n/a") return "not applicable";
  const match = /^(>?)(-?\d+(?:\.\d+)?)(?:±(\d+(?:\.\d+)?))?$/.exec(part);
  if (match === null) return undefined;
  const number = Number(match[2]);
  if (match[1] === ">") return { beyond: number };
  return match[3] === undefined ? number : { value: number, error: Number(match[3]) };
}
