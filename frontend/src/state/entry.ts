// What is typed into a cell of the readings, and what stands in the case document. Pure.
export type Single = number | string | { value?: number; beyond?: number; error?: number; [key: string]: unknown };
export type Entry = Single | Single[];

/** Half a millimetre, else a tenth: what a reading between the marks was read to. [mm] */
const BETWEEN_MARKS = [0.5, 0.1] as const;
const ROUNDING = 1e-6;

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

const isOn = (value: number, step: number): boolean => Math.abs(value / step - Math.round(value / step)) < ROUNDING;

/** The number of a reading that inherits its step; words and readings with a step of their own have none. */
function inherits(part: Single): number | undefined {
  if (typeof part === "number") return part;
  return typeof part === "string" || part["step"] !== undefined ? undefined : (part.value ?? part.beyond);
}

const parts = (entry: Entry): Single[] => (Array.isArray(entry) ? entry : [entry]);

/** The first number of an entry that lies between the marks of a step, or null. */
export function offStep(entry: Entry | undefined, step: number): number | null {
  if (entry === undefined) return null;
  return parts(entry).map(inherits).find((value) => value !== undefined && !isOn(value, step)) ?? null;
}

/** The step that a number between the marks was read to, or null where it is finer than a tenth. [mm] */
export const finerStep = (value: number): number | null => BETWEEN_MARKS.find((step) => isOn(value, step)) ?? null;

/** The entry with a step of its own wherever a number lies between the marks of `step`. */
export function ownStep(entry: Entry, step: number): Entry {
  const own = parts(entry).map((part): Single => {
    const value = inherits(part);
    const finer = value === undefined || isOn(value, step) ? null : finerStep(value);
    if (finer === null) return part;
    return typeof part === "number" ? { value: part, step: finer } : { ...(part as object), step: finer };
  });
  return Array.isArray(entry) ? own : (own[0] as Single);
}

/** Read what was typed. A comma is a point; digits run together without a point stay one number. */
export function typed(text: string): Typed {
  const written = text.replace(/[−–]/g, "-").replace(/,/g, ".").replace(/\s*±\s*/g, "±").trim().split(/\s+/).filter(Boolean);
  if (written.length === 0) return { ok: true, entry: undefined };
  const entries: Single[] = [];
  for (const part of written) {
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

/** What a pasted text holds: the entries of a row of sites, in their order; null where it is the entry of one cell. */
export function rowOf(text: string, sites: number): string[] | null {
  const written = text.replace(/[\r\n]+$/, "");
  if (/[\t\n;]/.test(written)) return written.split(/\t|\r?\n|;/).map((part) => part.trim());
  const words = written.trim().split(/\s+/).map((word) => word.replace(/,$/, ""));
  const commas = words.length === 1 ? (words[0] ?? "").split(",") : [];
  return [words, commas].find((parts) => parts.length === sites && sites > 2) ?? null;
}

/** How far the repeats of one reading lie apart. [mm] */
export function apart(entry: Entry | undefined): number {
  const numbers = Array.isArray(entry) ? entry.map((part) => (typeof part === "object" ? (part.value ?? part.beyond) : part)).filter((one) => typeof one === "number") : [];
  return numbers.length < 2 ? 0 : Math.max(...numbers) - Math.min(...numbers);
}
