// The lengthwise section at one station, as paths in pixels, the same scale across and up; a drawing, not a measurement.
import { line } from "d3-shape";
import type { Route, ToothPlan } from "../api/client";

type Point = readonly [number, number];

export interface Mark {
  x: number;
  y: number;
}

export interface Section {
  axis: string;
  crown: string;
  tooth: string;
  gum: string;
  bone: string;
  removed: string;
  cut: string;
  finish: string;
  rest: string;
  /** Where a dimension line may begin, right of everything drawn. */
  clear: number;
  margin: Mark;
  base: Mark | null;
  crest: Mark;
  cutAt: Mark | null;
  finishAt: Mark | null;
  restAt: Mark | null;
}

const STEPS = 24;

export function sectionOf(tooth: ToothPlan, route: Route | null, station: number, height: number): Section | null {
  const at = (heights: readonly number[] | null | undefined): number | null => heights?.[station] ?? null;
  const margin = at(tooth.levels.gingival_margin?.mean);
  const crest = at(tooth.levels.crest?.mean);
  if (margin === null || crest === null) return null;
  const edge = Math.max(at(tooth.levels.planned_edge?.mean) ?? margin + 4, margin + 1);
  const sound = Math.min(at(tooth.levels.sound_edge?.mean) ?? edge, edge);
  const base = at(tooth.levels.sulcus_base?.mean);
  const cut = at(route?.cut_line);
  const start = at(route?.cut_line_outer);
  const finish = at(route?.finish_line);
  const rest = at(route?.rest_line?.mean);
  const goes = cut !== null && start !== null && cut < margin - 0.05;

  const low = crest - 2.4;
  const unit = (height - 20) / (edge + 0.4 - low);
  const x = (out: number): number => 10 + out * unit;
  const y = (up: number): number => 8 + (edge + 0.4 - up) * unit;
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
  const mark = (h: number | null, out: (h: number) => number): Mark | null => (h === null ? null : { x: x(out(h)), y: y(h) });

  return {
    axis: `M${x(0)} 0V${height}`,
    crown: path(...wall(Math.min(finish ?? margin, sound), edge), [0, edge + 0.15]),
    tooth: path(...wall(low, sound), [shape.wall(sound) * 0.6, sound + 0.12], [shape.wall(sound) * 0.3, sound - 0.1], [0, sound]),
    gum: path(...wall(low, base ?? margin - 1), ...lip(margin), ...skin(margin - 0.06, low)),
    bone: path(
      [shape.wall(low) + 0.18, low],
      [shape.wall(crest) + 0.18, crest - 0.2],
      [shape.wall(crest) + 0.35, crest],
      [shape.wall(crest) + 0.6, crest - 0.12],
      [shape.plate(crest - 1), crest - 1],
      [shape.plate(low), low],
    ),
    removed: goes ? path([shape.wall(cut) + 0.03, cut], ...lip(margin), ...skin(margin - 0.06, start), [shape.wall(cut) + 0.03, cut]) : "",
    cut: goes ? path([shape.wall(cut) - 0.05, cut], [shape.skin(start) + 0.3, start - 0.3 * slope(shape, cut, start)]) : "",
    finish: finish === null ? "" : path([shape.wall(finish) - 1, finish], [shape.wall(finish) + 0.04, finish]),
    rest: rest === null ? "" : path(...lip(rest), ...skin(rest - 0.06, rest - 1.2)),
    clear: x(Math.max(shape.skin(low), shape.wall((margin + edge) / 2))) + 16,
    margin: { x: x(shape.wall(margin) + 0.2), y: y(margin) },
    base: mark(base, shape.wall),
    crest: { x: x(shape.wall(crest) + 0.35), y: y(crest) },
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
