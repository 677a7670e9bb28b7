// Which lines stand on the strip: the levels as read, and those of the chosen route under the names they are labelled with.
import type { Route, ToothPlan } from "../api/client";

export interface Drawn {
  name: string;
  heights: readonly number[];
}

const LEVELS = ["planned_edge", "sound_edge", "gingival_margin", "sulcus_base", "crest"] as const;

/** Under which name a line is labelled: a crest that was not read anywhere says so. */
export const labelOf = (tooth: ToothPlan, name: string): string => (name === "crest" && !tooth.levels.crest_read ? "crest_not_read" : name);

/** Whether a line counts from the bone, so that where no bone was sounded its height is an estimate. */
export const countsFromBone = (name: string): boolean => name.startsWith("crest");

/** The height that both strip and paper call 0: the deepest place of the crest as it stands today. */
export const zeroOf = (tooth: ToothPlan): number => Math.min(...(tooth.levels.crest?.mean_height_mm ?? [0]));

/** Sites where the bone was not read. */
export const unsounded = (tooth: ToothPlan): string[] =>
  tooth.routes.find((route) => route.sites.length > 0)?.sites.flatMap((site) => (site.bone_read ? [] : site.site)) ?? [];

/** The name of a route's cut line: with a flap it is where the flap margin is sutured, no cut by current. */
export const cutName = (route: Route): string => (route.operations?.includes("bone") ? "sutured_line" : "cut_line");

/** Whether a route cuts soft tissue along its line, so that the line can be moved. */
export const cuts = (route: Route): boolean => route.cut_line_height_mm !== null && route.lengthens !== false;

/** Whether a route moves the tooth, so that margin and crest stand lower on it afterwards. */
export const raises = (route: Route | null): boolean => (route?.extrusion_mm ?? 0) > 0 && !!route?.margin_after_height_mm && !!route.crest_after_height_mm;

/** The settled margin; plans stored before it was a median have its mean. */
export const settledOf = (route: Route | null): number[] | null => route?.rest_line?.median_height_mm ?? route?.rest_line?.mean_height_mm ?? null;

export const takesBone = (route: Route): boolean => !raises(route) && Math.max(0, ...(route.bone_reduction_mm ?? [])) > 0;

/** A level that stays where it is while the tooth is raised: lower in the frame of the tooth. */
const lowered = (heights: readonly number[] | undefined, by: number): number[] | undefined => heights?.map((height) => height - by);

export function linesOf(tooth: ToothPlan, route: Route | null, forecasts: boolean): Drawn[] {
  const found: Drawn[] = [];
  const add = (name: string, heights: readonly number[] | null | undefined): void => {
    if (heights) found.push({ name, heights });
  };
  const moved = raises(route);
  for (const name of LEVELS) {
    const heights = tooth.levels[name]?.mean_height_mm;
    if (!moved) add(name, heights);
    else if (name === "gingival_margin") add("margin_today", heights);
    else if (name === "crest") add("crest_today", heights);
    else if (name === "planned_edge") add(name, lowered(heights, route?.extrusion_mm ?? 0));
    else if (name !== "sulcus_base") add(name, heights);
  }
  if (route === null) return found;
  add("margin_after", moved ? route.margin_after_height_mm : null);
  add("crest_after", moved || takesBone(route) ? route.crest_after_height_mm : null);
  if (cuts(route)) add("rest_line", settledOf(route));
  if (forecasts) {
    add("full_return", route.rest_line_if?.full_return_height_mm);
    add("transferred", route.rest_line_if?.transferred_from_bone_surgery_height_mm);
    add("nothing_returns", route.rest_line_if?.nothing_returns_height_mm);
  }
  add("interim_finish_line", route.interim_finish_line_height_mm);
  add("finish_line", route.finish_line_height_mm);
  if (cuts(route)) add(cutName(route), route.cut_line_height_mm);
  return found;
}
