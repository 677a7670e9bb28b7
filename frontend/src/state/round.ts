// Where a round stands at an instant, and the log of it: pure. Nothing is counted; every answer follows from the instant alone.
import type { HeatStroke, RoundEvent, ToothHeat } from "../api/client";

export interface Moment {
  phase: "before" | "stroke" | "rest" | "done";
  /** The stroke that is going on, or comes next; null when all are done. */
  stroke: HeatStroke | null;
  /** How many strokes are over. */
  over: number;
  /** Seconds until this phase ends; 0 when all is done. */
  left: number;
}

export type Standing = "done" | "now" | "next" | "waiting" | "left out";

/** Where the round stands `now` seconds after its first stroke was due; below 0 it has not begun. */
export function momentOf(strokes: readonly HeatStroke[], now: number): Moment {
  const over = strokes.filter((stroke) => stroke.end_s <= now).length;
  const stroke = strokes[over] ?? null;
  if (stroke === null) return { phase: "done", stroke, over, left: 0 };
  if (stroke.start_s <= now) return { phase: "stroke", stroke, over, left: stroke.end_s - now };
  return { phase: now < 0 || over === 0 ? "before" : "rest", stroke, over, left: stroke.start_s - now };
}

/** How each place of the tooth stands at a moment. */
export function standings(heat: ToothHeat, moment: Moment): Standing[] {
  const strokes = heat.round?.strokes ?? [];
  return heat.sectors.map((sector) => {
    if (sector.passes === 0) return "left out";
    if (moment.stroke?.sector === sector.number) return moment.phase === "stroke" ? "now" : "next";
    return strokes.slice(moment.over).some((stroke) => stroke.sector === sector.number) ? "waiting" : "done";
  });
}

/** Seconds as they are read at a distance: tenths while they are few, whole ones above. */
export const shownSeconds = (seconds: number): string => (seconds < 10 ? (Math.ceil(seconds * 10 - 1e-6) / 10).toFixed(1) : Math.ceil(seconds).toFixed(0));

/** One line of the log as it is entered: a stroke of the plan, done or not, and how much too late or too long. */
export interface Entered {
  stroke: HeatStroke;
  done: boolean;
  late: number;
  longer: number;
}

export interface Touch {
  sector: number | null;
  after: number;
  seconds: number;
}

/** The strokes of the plan as they stand when the round ended: done as far as their time was over. */
export const entered = (strokes: readonly HeatStroke[], until: number): Entered[] =>
  strokes.map((stroke) => ({ stroke, done: stroke.end_s <= until, late: 0, longer: 0 }));

/** The log as the server takes it, in the order of time; a late stroke moves all later ones. */
export function eventsOf(lines: readonly Entered[], touches: readonly Touch[], stoppedAt: number | null): RoundEvent[] {
  let behind = 0;
  const strokes: RoundEvent[] = lines
    .filter((line) => line.done)
    .map(({ stroke, late, longer }) => {
      behind += late;
      const event: RoundEvent = { kind: "stroke", sector: stroke.sector, at_s: stroke.start_s + behind, lasted_s: stroke.end_s - stroke.start_s + longer };
      behind += longer;
      return event;
    });
  const touched: RoundEvent[] = touches.map(({ sector, after, seconds }) => ({ kind: "metal", sector, at_s: strokes[after]?.at_s ?? 0, lasted_s: seconds }));
  const events = [...strokes, ...touched].sort((a, b) => a.at_s - b.at_s);
  const last = events.at(-1)?.at_s ?? 0;
  return stoppedAt === null ? events : [...events, { kind: "stopped", sector: null, at_s: Math.max(last, stoppedAt), lasted_s: null }];
}
