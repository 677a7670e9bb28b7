// Places on the drawings: mm to pixels, the neck unrolled, curves for the eye. No clinical number is made here.
import { scaleLinear, type ScaleLinear } from "d3-scale";
import { area, curveMonotoneX, line } from "d3-shape";
import type { ToothPlan } from "../api/client";

export interface Place {
  station: number;
  arc: number;
}

/**
 * Stations from left to right, oral to oral, facial in the middle, as seen from outside the mouth: on the patient's right side mesial
 * lies to the right, on the left side to the left.
 */
export function unrolled(tooth: Pick<ToothPlan, "number" | "stations_deg" | "arc_mm" | "perimeter_mm">): Place[] {
  const count = tooth.stations_deg.length;
  const half = count / 2;
  const whole = tooth.perimeter_mm;
  const order = [...Array(half).keys()].map((i) => i + half).concat([...Array(half + 1).keys()]);
  const places = order.map((station, n) => ({
    station,
    arc: (tooth.arc_mm[station] ?? 0) + (n < half ? -whole / 2 : whole / 2),
  }));
  const right = [1, 4].includes(Math.floor(tooth.number / 10));
  return right ? places : places.reverse().map(({ station, arc }) => ({ station, arc: whole - arc }));
}

export interface Frame {
  x: ScaleLinear<number, number>;
  y: ScaleLinear<number, number>;
  places: Place[];
}

export function frameOf(
  tooth: ToothPlan,
  lines: readonly (readonly number[])[],
  box: { width: number; height: number; left: number; right: number; top: number; bottom: number },
): Frame {
  const every = lines.flat();
  const [low, high] = [Math.min(...every), Math.max(...every)];
  return {
    x: scaleLinear([0, tooth.perimeter_mm], [box.left, box.width - box.right]),
    y: scaleLinear([low - 1.6, high + 0.6], [box.height - box.bottom, box.top]),
    places: unrolled(tooth),
  };
}

export function pathOf(frame: Frame, heights: readonly number[]): string {
  const draw = line<Place>()
    .x((p) => frame.x(p.arc))
    .y((p) => frame.y(heights[p.station] ?? 0))
    .curve(curveMonotoneX);
  return draw(frame.places) ?? "";
}

export function bandOf(frame: Frame, upper: readonly number[], lower: readonly number[] | null): string {
  const floor = frame.y.range()[0] ?? 0;
  const draw = area<Place>()
    .x((p) => frame.x(p.arc))
    .y0((p) => (lower === null ? floor : frame.y(lower[p.station] ?? 0)))
    .y1((p) => frame.y(upper[p.station] ?? 0))
    .curve(curveMonotoneX);
  return draw(frame.places) ?? "";
}

/** Places near those wanted, in their order, at least `gap` apart, inside [low, high] as far as there is room. */
export function spread(wanted: readonly number[], gap: number, low: number, high: number): number[] {
  const ranked = wanted.map((_, i) => i).sort((a, b) => (wanted[a] ?? 0) - (wanted[b] ?? 0));
  const placed = new Array<number>(wanted.length).fill(0);
  let last = low - gap;
  for (const i of ranked) last = placed[i] = Math.max(wanted[i] ?? 0, last + gap);
  let ceiling = Math.min(last, high) + gap;
  for (const i of [...ranked].reverse()) ceiling = placed[i] = Math.min(placed[i] ?? 0, ceiling - gap);
  return placed;
}

/** The station of the drawing nearest to a place across it. */
export function stationAt(frame: Frame, x: number): number {
  const arc = frame.x.invert(x);
  return frame.places.reduce((best, p) => (Math.abs(p.arc - arc) < Math.abs(best.arc - arc) ? p : best)).station;
}
