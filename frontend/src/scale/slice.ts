// The lengthwise section at one station, as paths in pixels, the same scale across and up; a drawing, not a measurement.
import { line } from "d3-shape";
import type { Route, ToothPlan } from "../api/client";
import { settledOf } from "./lines";

type Point = readonly [number, number];

export interface Mark {
  x: number;
  y: number;
}

/** What both halves of a slice are drawn to: lowest and highest place, and the height of the drawing. */
export interface Extent {
  low: number;
  high: number;
  height: number;
}

export interface Section {
  crown: string;
  tooth: string;
  gum: string;
  bone: string;
  /** Bone that a flap takes away; empty where none is. */
  boneTaken: string;
  /** Where gum and bone stand today, where the tooth is raised past them. */
  today: string;
  removed: string;
  cut: string;
  finish: string;
  rest: string;
  /** Where a dimension line may begin, right of everything drawn. */
  clear: number;
  margin: Mark;
  base: Mark | null;
  crest: Mark;
  crestAfter: Mark;
  cutAt: Mark | null;
  finishAt: Mark | null;
  restAt: Mark | null;
}

const STEPS = 24;
/** No less is drawn, so that a tooth ground short is not drawn so wide that its measures have no room. */
const LEAST_MM = 13;

/** The extent that holds the slice at every one of the stations. */
export function extentOf(tooth: ToothPlan, route: Route | null, stations: readonly number[], height: number): Extent {
  const all = (heights: readonly number[] | null | undefined): number[] => stations.flatMap((at) => heights?.[at] ?? []);
  const { levels } = tooth;
  const low = Math.min(...all(levels.crest?.mean_height_mm), ...all(route?.crest_after_height_mm), 0);
  const margin = Math.max(...all(levels.gingival_margin?.mean_height_mm), low);
  const high = Math.max(margin + 1, ...all(levels.planned_edge?.mean_height_mm).map((edge) => edge - (route?.extrusion_mm ?? 0))) + 0.4;
  return { low: low - 2.4, high: Math.max(high, low - 2.4 + LEAST_MM), height };
}

/** One half of the slice: from the long axis outward, at one station. */
export function sectionOf(tooth: ToothPlan, route: Route | null, station: number, extent: Extent): Section | null {
  const { low, height } = extent;
  const at = (heights: readonly number[] | null | undefined): number | null => heights?.[station] ?? null;
  const marginToday = at(tooth.levels.gingival_margin?.mean_height_mm);
  const crestToday = at(tooth.levels.crest?.mean_height_mm);
  if (marginToday === null || crestToday === null) return null;
  // A tooth that is raised carries the frame with it: gum and bone are drawn where they will stand, today's as an outline.
  const raised = route?.extrusion_mm ?? 0;
  const margin = raised > 0 ? (at(route?.margin_after_height_mm) ?? marginToday) : marginToday;
  const crest = raised > 0 ? (at(route?.crest_after_height_mm) ?? crestToday) : crestToday;
  const after = at(route?.crest_after_height_mm) ?? crest;
  const edge = Math.max((at(tooth.levels.planned_edge?.mean_height_mm) ?? marginToday + 4) - raised, margin + 1);
  const sound = Math.min(at(tooth.levels.sound_edge?.mean_height_mm) ?? edge, edge);
  const baseToday = at(tooth.levels.sulcus_base?.mean_height_mm);
  const base = baseToday === null ? null : baseToday - raised;
  const cut = at(route?.cut_line_height_mm);
  const start = at(route?.cut_line_outer_height_mm);
  const finish = at(route?.finish_line_height_mm);
  const rest = at(settledOf(route));
  const goes = cut !== null && start !== null && route?.lengthens !== false && cut < margin - 0.05;

  const unit = (height - 20) / (extent.high - low);
  const x = (out: number): number => out * unit;
  const y = (up: number): number => 8 + (extent.high - up) * unit;
  const shape = outlines(tooth.radius_mm[station] ?? 3, tooth.tissue_thickness_mm[station] ?? 1, { margin, crest, low, edge, base });
  const draw = line<Point>()
    .x((p) => x(p[0]))
    .y((p) => y(p[1]));
  const path = (...points: Point[]): string => draw(points) ?? "";
  const wall = (from: number, to: number): Point[] => levels(from, to).map((h) => [shape.wall(h), h]);
  const skin = (from: number, to: number): Point[] => levels(from, to).map((h) => [shape.skin(h), h]);
  const lip = (h: number): Point[] => [
    [shape.wall(h) + 0.06, h - 0.02],
    [shape.wall(h) + 0.2, h + 0.06],
  ];
  const bone = (top: number): Point[] => [
    [shape.wall(low) + 0.18, low],
    [shape.wall(top) + 0.18, top - 0.2],
    [shape.wall(top) + 0.35, top],
    [shape.wall(top) + 0.6, top - 0.12],
    [shape.plate(top - 1), top - 1],
    [shape.plate(low), low],
  ];
  const mark = (h: number | null, out: (h: number) => number): Mark | null => (h === null ? null : { x: x(out(h)), y: y(h) });

  return {
    crown: path(...wall(Math.min(finish ?? margin, sound), edge), [0, edge + 0.15]),
    tooth: path(...wall(low, sound), [shape.wall(sound) * 0.6, sound + 0.12], [shape.wall(sound) * 0.3, sound - 0.1], [0, sound]),
    gum: path(...wall(low, base ?? margin - 1), ...lip(margin), ...skin(margin - 0.06, low)),
    bone: path(...bone(after)),
    boneTaken: after < crest - 0.05 ? path(...bone(crest)) : "",
    today: raised > 0 ? path(...lip(marginToday), ...skin(marginToday - 0.06, marginToday - 1.6)) + path(...bone(crestToday).slice(1, 5)) : "",
    removed: goes ? path([shape.wall(cut) + 0.03, cut], ...lip(margin), ...skin(margin - 0.06, start), [shape.wall(cut) + 0.03, cut]) : "",
    cut: goes ? path([shape.wall(cut) - 0.05, cut], [shape.skin(start) + 0.3, start - 0.3 * slope(shape, cut, start)]) : "",
    finish: finish === null ? "" : path([shape.wall(finish) - 1, finish], [shape.wall(finish) + 0.04, finish]),
    rest: rest === null ? "" : path(...lip(rest), ...skin(rest - 0.06, rest - 1.2)),
    clear: x(Math.max(shape.skin(low), shape.wall((margin + edge) / 2))) + 16,
    margin: { x: x(shape.wall(margin) + 0.2), y: y(margin) },
    base: mark(base, shape.wall),
    crest: { x: x(shape.wall(crest) + 0.35), y: y(crest) },
    crestAfter: { x: x(shape.wall(after) + 0.35), y: y(after) },
    cutAt: goes ? mark(cut, shape.wall) : null,
    finishAt: mark(finish, shape.wall),
    restAt: mark(rest, (h) => shape.skin(h - 0.2)),
  };
}

interface Outlines {
  wall: (height: number) => number;
  skin: (height: number) => number;
  plate: (height: number) => number;
}

/** How far from the long axis tooth, gum and bone reach at a height: shapes of a textbook, laid through the real neck and thickness. */
function outlines(
  neck: number,
  thick: number,
  h: { margin: number; crest: number; low: number; edge: number; base: number | null },
): Outlines {
  const turn = h.base ?? h.margin - 1;
  const wall = (up: number): number => {
    if (up <= turn) return neck * (1 - (0.07 * (turn - up)) / Math.max(turn - h.low, 0.1));
    const t = Math.min(1, (up - turn) / Math.max(h.edge - turn, 0.1));
    return neck + 0.55 * Math.sin(Math.PI * Math.min(t * 1.1, 1)) - neck * 0.34 * t ** 5;
  };
  const skin = (up: number): number => {
    const t = Math.max(0, h.margin - up) / Math.max(h.margin - h.crest, 0.5);
    return neck + 0.22 + (thick - 0.22) * (1 - Math.exp(-3 * t)) + 0.22 * t;
  };
  return { wall, skin, plate: (up) => neck + Math.max(0.5, (thick - 0.2) * 0.75) + 0.06 * (h.crest - up) };
}

const slope = (shape: Outlines, cut: number, start: number): number => (cut - start) / Math.max(shape.skin(start) - shape.wall(cut), 0.1);

const levels = (from: number, to: number): number[] => Array.from({ length: STEPS + 1 }, (_, i) => from + ((to - from) * i) / STEPS);
