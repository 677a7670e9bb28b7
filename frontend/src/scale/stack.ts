// The small upright drawing beside a route: what stands above what at one place of the neck, today and after this route.
// Pixels only; every height comes from the server.
import { scaleLinear } from "d3-scale";
import type { Route, ToothPlan } from "../api/client";
import { settledOf } from "./lines";

export interface Bar {
  kind: "bone" | "gone" | "gum" | "cut" | "tooth" | "ghost";
  x: number;
  y: number;
  width: number;
  height: number;
}

export interface Stack {
  bars: Bar[];
  /** Where the finish line would lie; null where the route offers none. */
  finish: number | null;
}

export const WIDE = 44;
export const HIGH = 68;
const TOOTH = { x: 3, width: 15 };
const SOFT = { x: 19, width: 9 };
const BONE = { x: 19, width: 14 };

/** All routes of a tooth are drawn to one scale, the bone of today at one height, so that they compare. */
export function stackOf(tooth: ToothPlan, route: Route, station: number): Stack | null {
  const at = (heights: readonly number[] | null | undefined): number | null => heights?.[station] ?? null;
  const margin = at(tooth.levels.gingival_margin?.mean_height_mm);
  const crest = at(tooth.levels.crest?.mean_height_mm);
  if (margin === null || crest === null) return null;
  const edge = at(tooth.levels.planned_edge?.mean_height_mm) ?? margin + 4;
  // With extrusion the frame goes with the tooth: drawn from the bone, it is the tooth that rises under the same opposing tooth.
  const raised = route.extrusion_mm ?? 0;
  const sound = Math.min((at(tooth.levels.sound_edge?.mean_height_mm) ?? edge) + raised, edge);
  const y = scaleLinear([crest - 2.6, edge + 0.2], [HIGH, 1]);
  const place = (height: number): number => y(height + raised);
  const bar = (kind: Bar["kind"], box: { x: number; width: number }, top: number, foot: number): Bar => ({
    kind,
    ...box,
    y: top,
    height: Math.max(foot - top, 0),
  });
  const after = raised > 0 ? crest : (at(route.crest_after_height_mm) ?? crest);
  const rest = at(settledOf(route));
  const gum = rest === null ? y(margin) : Math.max(place(rest), y(margin));
  const bars = [
    bar("ghost", TOOTH, y(edge), y(sound)),
    bar("tooth", TOOTH, y(sound), HIGH),
    bar("cut", SOFT, y(margin), gum),
    bar("gum", SOFT, gum, y(after)),
    bar("gone", BONE, y(crest), y(after)),
    bar("bone", BONE, y(after), HIGH),
  ];
  const finish = at(route.finish_line_height_mm);
  return { bars: bars.filter((one) => one.height > 0.3), finish: finish === null ? null : place(finish) };
}
