// Which lines stand on the strip: the levels as read, and those of the chosen route under the names they are labelled with.
import type { Route, ToothPlan } from "../api/client";

export interface Drawn {
  name: string;
  heights: readonly number[];
}

const LEVELS = ["planned_edge", "sound_edge", "gingival_margin", "sulcus_base", "crest"] as const;

/** The name of a route's cut line: with a flap it is where the flap margin is sutured, no cut by current. */
export const cutName = (route: Route): string => (route.name === "soft tissue and bone" ? "sutured_line" : "cut_line");

/** Whether a route cuts soft tissue along its line, so that the line can be moved. */
export const cuts = (route: Route): boolean => route.cut_line !== null && route.name !== "restore without lengthening";

export function linesOf(tooth: ToothPlan, route: Route | null, forecasts: boolean): Drawn[] {
  const found: Drawn[] = [];
  const add = (name: string, heights: readonly number[] | null | undefined): void => {
    if (heights) found.push({ name, heights });
  };
  for (const name of LEVELS) add(name, tooth.levels[name]?.mean);
  if (route === null) return found;
  add("crest_after", route.crest_after);
  add("margin_after", route.margin_after);
  if (cuts(route)) add("rest_line", route.rest_line?.mean);
  if (forecasts) {
    add("full_return", route.rest_line_if?.full_return);
    add("transferred", route.rest_line_if?.transferred_from_bone_surgery);
    add("nothing_returns", route.rest_line_if?.nothing_returns);
  }
  add("interim_finish_line", route.interim_finish_line);
  add("finish_line", route.finish_line);
  if (cuts(route)) add(cutName(route), route.cut_line);
  return found;
}
