// The lengthwise section at one station, as paths in pixels; a drawing, not a measurement.
import { scaleLinear, type ScaleLinear } from "d3-scale";
import type { Route, ToothPlan } from "../api/client";

export interface Section {
  x: ScaleLinear<number, number>;
  y: ScaleLinear<number, number>;
  tooth: string;
  gum: string;
  bone: string;
  removed: string;
  cut: string;
  finish: string;
}

export function sectionOf(tooth: ToothPlan, route: Route | null, station: number, width: number, height: number): Section | null {
  const at = (line: readonly number[] | null | undefined): number | null => line?.[station] ?? null;
  const margin = at(tooth.levels.gingival_margin?.mean);
  const crest = at(tooth.levels.crest?.mean);
  if (margin === null || crest === null) return null;
  const edge = at(tooth.levels.planned_edge?.mean) ?? margin + 4;
  const neck = tooth.radius_mm[station] ?? 3;
  const thick = tooth.tissue_thickness_mm[station] ?? 1;
  const low = crest - 3;
  const x = scaleLinear([0, neck + thick + 2.6], [12, width - 44]);
  const y = scaleLinear([low, Math.max(edge, margin) + 0.8], [height - 14, 14]);
  const p = (mmOut: number, mmUp: number): string => `${x(mmOut).toFixed(1)} ${y(mmUp).toFixed(1)}`;
  const bulge = neck + 0.5;
  const outer = neck + thick;
  const cut = at(route?.cut_line);
  const cutOuter = at(route?.cut_line_outer);
  const finish = at(route?.finish_line);
  const attached = margin - (margin - crest) * 0.45;
  return {
    x,
    y,
    tooth: `M${p(0, edge)}L${p(neck * 0.6, edge)}Q${p(bulge, edge - 0.4)} ${p(bulge, (edge + margin) / 2)}Q${p(bulge - 0.1, margin)} ${p(neck, margin - 0.6)}L${p(neck * 0.93, low)}L${p(0, low)}`,
    gum: `M${p(neck + 0.05, margin)}Q${p(neck + 0.45, margin + 0.15)} ${p(outer - 0.2, attached)}L${p(outer + 0.3, crest - 1)}L${p(outer + 0.45, low)}L${p(neck * 0.93, low)}L${p(neck, margin - 0.6)}Z`,
    bone: `M${p(neck * 0.97 + 0.1, crest)}Q${p(neck + 0.5, crest + 0.1)} ${p(neck + 0.75, crest - 0.7)}L${p(neck + 1, low)}L${p(neck * 0.94 + 0.1, low)}Z`,
    removed:
      cut === null || cutOuter === null || cut >= margin - 0.05
        ? ""
        : `M${p(neck + 0.05, margin)}Q${p(neck + 0.45, margin + 0.15)} ${p(outer - 0.2, attached)}L${p(outer, cutOuter)}L${p(neck, cut)}Z`,
    cut: cut === null || cutOuter === null || cut >= margin - 0.05 ? "" : `M${p(neck - 0.1, cut)}L${p(outer + 0.15, cutOuter)}`,
    finish: finish === null ? "" : `M${p(neck - 0.9, finish)}L${p(neck + 0.1, finish)}`,
  };
}
