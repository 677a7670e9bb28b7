// Where a round stands at an instant, and the log of it: pure. Nothing is counted; every answer follows from the instant alone.
import type { HeatStroke, RoundEvent, RoundMark, ToothHeat } from "../api/client";

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

/** The instant of the next stroke after an instant, or of the one before it; the instant itself where there is none. */
export function strokeBeside(strokes: readonly HeatStroke[], at: number, way: 1 | -1): number {
  const starts = strokes.map((stroke) => stroke.start_s);
  return (way > 0 ? starts.find((start) => start > at + 0.05) : starts.findLast((start) => start < at - 0.05)) ?? at;
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

/** The stroke that an instant belongs to: the last that had begun, the first before all. */
export function strokeAt(strokes: readonly HeatStroke[], at: number): number {
  return Math.max(0, strokes.filter((stroke) => stroke.start_s <= at).length - 1);
}

const strokeKey = (i: number): string => `stroke ${i}`;

/** The marks of the strokes that were over between two instants: what the screen saw happen by the clock. */
export function strokesOver(strokes: readonly HeatStroke[], from: number, to: number): RoundMark[] {
  return strokes.flatMap(({ sector, start_s, end_s }, i) =>
    end_s > from && end_s <= to ? [{ key: strokeKey(i), kind: "stroke" as const, at_s: start_s, sector, lasted_s: end_s - start_s }] : [],
  );
}

/** A mark of a touch: at which stroke, and what. Of one stroke it is said once that it was left out, or went otherwise. */
export function markOf(kind: "metal" | "left out" | "otherwise", strokes: readonly HeatStroke[], at: number, unique: string, held: number | null = null): RoundMark {
  const i = strokeAt(strokes, at);
  return { key: kind === "metal" ? `metal ${unique}` : `${kind} ${i}`, kind, at_s: Math.max(0, at), sector: strokes[i]?.sector ?? null, lasted_s: held };
}

/** Marks of two sources as one list, each once, in order of time. */
export function joined(ours: readonly RoundMark[], theirs: readonly RoundMark[]): RoundMark[] {
  return [...new Map([...ours, ...theirs].map((mark) => [mark.key, mark])).values()].sort((a, b) => a.at_s - b.at_s);
}

/** One line of the log as it is entered: a stroke of the plan, done or not, how much too late or too long, and whether it was marked. */
export interface Entered {
  stroke: HeatStroke;
  done: boolean;
  late: number;
  longer: number;
  marked: boolean;
}

/** A touch on metal; `seconds` is null until somebody says how long it was. */
export interface Touch {
  after: number;
  at: number | null;
  seconds: number | null;
}

/** The strokes of the plan as the marks have them: done where the screen saw its time pass and nobody said it was left out. */
export function entered(strokes: readonly HeatStroke[], marks: readonly RoundMark[]): Entered[] {
  const of = (kind: RoundMark["kind"]): Set<number> => new Set(marks.filter((mark) => mark.kind === kind).map((mark) => strokeAt(strokes, mark.at_s)));
  const seen = new Set(marks.map((mark) => mark.key));
  const [leftOut, otherwise] = [of("left out"), of("otherwise")];
  return strokes.map((stroke, i) => ({ stroke, done: seen.has(strokeKey(i)) && !leftOut.has(i), late: 0, longer: 0, marked: leftOut.has(i) || otherwise.has(i) }));
}

/** The touches on metal as they were marked. */
export const touched = (strokes: readonly HeatStroke[], marks: readonly RoundMark[]): Touch[] =>
  marks.filter((mark) => mark.kind === "metal").map(({ at_s, lasted_s }) => ({ after: strokeAt(strokes, at_s), at: at_s, seconds: lasted_s ?? null }));

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
  const metal: RoundEvent[] = touches.map(({ after, at, seconds }) => {
    const stroke = lines[after]?.stroke;
    return { kind: "metal", sector: stroke?.sector ?? null, at_s: at ?? stroke?.start_s ?? 0, lasted_s: seconds };
  });
  const events = [...strokes, ...metal].sort((a, b) => a.at_s - b.at_s);
  const last = events.at(-1)?.at_s ?? 0;
  return stoppedAt === null ? events : [...events, { kind: "stopped", sector: null, at_s: Math.max(last, stoppedAt), lasted_s: null }];
}
