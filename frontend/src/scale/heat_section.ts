// The section of heat as it is drawn: values at an instant from the server's shapes, and the lines of each level in millimetres.
import type { HeatSection } from "../api/client";
import { contour, type Point } from "./contour";

export type Tissue = HeatSection["outlines"][number]["tissue"];

/** In whose outlines a line is drawn: that of a limit only in the tissue whose warmth bears on the organ. */
export const DRAWN_IN: Record<Isotherm["kind"], Tissue[]> = { plain: ["tooth", "gum", "bone"], pulp: ["tooth"], bone: ["gum", "bone"], soft_tissue: ["gum"] };

/** A line of one rise: plain, or the limit of organs, which is drawn only in the tissue whose warmth bears on them. */
export interface Isotherm {
  rise: number;
  /** "plain" or the organ whose limit it is; organs of one limit share a line. */
  kind: "plain" | "pulp" | "bone" | "soft_tissue";
  organs: string[];
  lines: Point[][];
  /** How far above the crest (below it: negative) it reaches on either side; null where it is not at all. [mm] */
  aboveCrest: { here: number | null; across: number | null };
}

/** Shapes as numbers: 16 bits with sign, low byte first. */
export function decoded(section: HeatSection): Int16Array[] {
  return section.shapes.map((text) => {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const view = new DataView(bytes.buffer);
    return Int16Array.from({ length: bytes.length / 2 }, (_, i) => view.getInt16(2 * i, true));
  });
}

/** The last instant of the section. [s] */
export const untilOf = (section: HeatSection): number => (section.amounts_degC.length - 1) * section.every_s;

/** The rise over rest in every node at an instant, straight between those of the server. */
export function riseAt(section: HeatSection, shapes: readonly Int16Array[], at: number): Float32Array {
  const place = Math.max(0, Math.min(at, untilOf(section))) / section.every_s;
  const before = Math.min(Math.floor(place), section.amounts_degC.length - 2);
  const part = place - before;
  const rise = new Float32Array(section.across_mm.length * section.height_mm.length);
  shapes.forEach((shape, s) => {
    const amount = (1 - part) * (section.amounts_degC[before]?.[s] ?? 0) + part * (section.amounts_degC[before + 1]?.[s] ?? 0);
    for (let node = 0; node < rise.length; node++) rise[node] = (rise[node] ?? 0) + amount * (shape[node] ?? 0);
  });
  return rise;
}

/** The isotherms at an instant: the plain levels, then the limits, organs with the same limit and the same tissue together. */
export function isotherms(section: HeatSection, rise: Float32Array): Isotherm[] {
  const kindOf = (organ: string): Isotherm["kind"] => (organ === "pulp" || organ === "soft_tissue" ? organ : "bone");
  const limits = new Map<string, { rise: number; kind: Isotherm["kind"]; organs: string[] }>();
  for (const { organ, rise_degC } of section.limits) {
    const key = `${kindOf(organ)} ${rise_degC}`;
    limits.set(key, { rise: rise_degC, kind: kindOf(organ), organs: [...(limits.get(key)?.organs ?? []), organ] });
  }
  const plain = section.levels_degC.map((level) => ({ rise: level, kind: "plain" as const, organs: [] }));
  const values = { x: section.across_mm, y: section.height_mm, at: rise };
  return [...plain, ...limits.values()].map((isotherm) => {
    const lines = contour(values, isotherm.rise);
    const seen = lines.flat().filter((point) => drawn(section, isotherm.kind, point));
    return { ...isotherm, lines, aboveCrest: { here: lowest(section, seen, "here"), across: lowest(section, seen, "across") } };
  });
}

/** Whether a point of a line is drawn: whether it lies in an outline of the tissues of its kind. */
export const drawn = (section: HeatSection, kind: Isotherm["kind"], point: Point): boolean =>
  section.outlines.some((outline) => DRAWN_IN[kind].includes(outline.tissue) && within(outline.points_mm, point));

function lowest(section: HeatSection, points: readonly Point[], side: "here" | "across"): number | null {
  const bone = section.outlines.find((outline) => outline.tissue === "bone" && outline.side === side);
  const heights = points.flatMap(([x, height]) => ((side === "here") === x > 0 ? [height] : []));
  if (!bone || heights.length === 0) return null;
  return Math.min(...heights) - Math.max(...bone.points_mm.map(([, height = 0]) => height));
}

/** Where each label stands: as near to the middle of its longest line as no other label is in the way; null where there is no room. */
export function labelled(section: HeatSection, isotherms: readonly Isotherm[], apart: Point): (Point | null)[] {
  const taken: Point[] = [];
  return isotherms.map(({ lines, kind }) => {
    const [longest = []] = lines.map((line) => line.filter((point) => drawn(section, kind, point))).toSorted((a, b) => b.length - a.length);
    const fromMiddle = longest.map((point, i) => ({ point, away: Math.abs(2 * i - longest.length) })).toSorted((a, b) => a.away - b.away);
    const found = fromMiddle.find(({ point: [x, y] }) => taken.every((other) => Math.abs(other[0] - x) > apart[0] || Math.abs(other[1] - y) > apart[1]));
    if (found) taken.push(found.point);
    return found?.point ?? null;
  });
}

/** Whether a point lies within a closed outline. */
export function within(outline: readonly (readonly number[])[], [x, y]: Point): boolean {
  let inside = false;
  outline.forEach(([ax = 0, ay = 0], i) => {
    const [bx = 0, by = 0] = outline[(i + 1) % outline.length] ?? [];
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  });
  return inside;
}
