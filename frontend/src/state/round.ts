// Where a round stands at an instant, and the log of it: pure. A stroke begins when somebody says so; nothing is counted, every
// answer follows from what was said and the instant.
import type { HeatStroke, RoundEvent, RoundMark, ToothHeat } from "../api/client";

export interface Moment {
  /** "ready": the next stroke may begin and is waited for. */
  phase: "before" | "stroke" | "rest" | "ready" | "done";
  /** The stroke that is going on, or comes next; null when all are done. */
  stroke: HeatStroke | null;
  /** How many strokes are over, those left out included. */
  over: number;
  /** Seconds until this phase ends; 0 when all is done or something is waited for. */
  left: number;
}

export type Standing = "done" | "now" | "next" | "waiting" | "left out";

/** Where a round stands that runs as planned, `now` seconds after its first stroke; below 0 it has not begun. */
export function momentOf(strokes: readonly HeatStroke[], now: number): Moment {
  const over = strokes.filter((stroke) => stroke.end_s <= now).length;
  const stroke = strokes[over] ?? null;
  if (stroke === null) return { phase: "done", stroke, over, left: 0 };
  if (stroke.start_s <= now) return { phase: "stroke", stroke, over, left: stroke.end_s - now };
  return { phase: now < 0 || over === 0 ? "before" : "rest", stroke, over, left: stroke.start_s - now };
}

const strokeKey = (i: number): string => `begun ${i}`;
const leftOutKey = (i: number): string => `left out ${i}`;
const byKey = (marks: readonly RoundMark[]): Map<string, RoundMark> => new Map(marks.map((mark) => [mark.key, mark]));

/** Where a running round stands: what was said decides what is over, and what is late moves all that is left. */
export function standing(strokes: readonly HeatStroke[], marks: readonly RoundMark[], now: number): Moment {
  const said = byKey(marks);
  let behind = 0;
  for (const [i, stroke] of strokes.entries()) {
    const begun = said.get(strokeKey(i));
    const earliest = stroke.earliest_s ?? stroke.start_s;
    if (begun !== undefined) {
      const end = begun.at_s + (begun.lasted_s ?? 0);
      if (now < end) return { phase: "stroke", stroke, over: i, left: end - now };
      behind = Math.max(behind, end - earliest - (stroke.end_s - stroke.start_s));
    } else if (!said.has(leftOutKey(i))) {
      const left = earliest + behind - now;
      return { phase: left <= 0 ? "ready" : i === 0 ? "before" : "rest", stroke, over: i, left: Math.max(0, left) };
    }
  }
  return { phase: "done", stroke: null, over: strokes.length, left: 0 };
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

/** Seconds as they are read at a distance: whole ones, never less than there are. */
export const shownSeconds = (seconds: number): string => Math.ceil(seconds - 1e-6).toFixed(0);

/** The stroke that a touch on metal belongs to: the last that had begun by then, the first before all. */
export function strokeAt(strokes: readonly HeatStroke[], marks: readonly RoundMark[], at: number): number {
  const said = byKey(marks);
  return Math.max(0, strokes.findLastIndex((_, i) => (said.get(strokeKey(i))?.at_s ?? Infinity) <= at));
}

/** The word that the next stroke begins, null while it may not. */
export function begunMark(strokes: readonly HeatStroke[], marks: readonly RoundMark[], now: number): RoundMark | null {
  const { phase, stroke, over } = standing(strokes, marks, now);
  if (phase !== "ready" || stroke === null) return null;
  return { key: strokeKey(over), kind: "stroke", at_s: now, sector: stroke.sector, lasted_s: stroke.end_s - stroke.start_s };
}

/** The mark that the next stroke is left out, null where none is waited for. */
export function leftOutMark(strokes: readonly HeatStroke[], marks: readonly RoundMark[], now: number): RoundMark | null {
  const { phase, stroke, over } = standing(strokes, marks, now);
  if (phase === "stroke" || stroke === null) return null;
  return { key: leftOutKey(over), kind: "left out", at_s: Math.max(0, now), sector: stroke.sector, lasted_s: null };
}

/** A mark of a touch at the stroke that began last. Of one stroke it is said once that it went otherwise. */
export function markOf(kind: "metal" | "otherwise", strokes: readonly HeatStroke[], marks: readonly RoundMark[], at: number, unique: string, held: number | null = null): RoundMark {
  const i = strokeAt(strokes, marks, at);
  return { key: kind === "metal" ? `metal ${unique}` : `${kind} ${i}`, kind, at_s: Math.max(0, at), sector: strokes[i]?.sector ?? null, lasted_s: held };
}

/** Which stroke a mark is about, by its key or by when it was made. */
export function strokeOf(strokes: readonly HeatStroke[], marks: readonly RoundMark[], mark: RoundMark): number {
  const named = /^(?:left out|otherwise) (\d+)$/.exec(mark.key);
  return named ? Number(named[1]) : strokeAt(strokes, marks, mark.at_s);
}

/** Marks of two sources as one list, each once, in order of time. */
export function joined(ours: readonly RoundMark[], theirs: readonly RoundMark[]): RoundMark[] {
  return [...new Map([...ours, ...theirs].map((mark) => [mark.key, mark])).values()].sort((a, b) => a.at_s - b.at_s);
}

/** One line of the log as it is entered: a stroke of the plan, done or not, when it began, how much too long, whether it was marked. */
export interface Entered {
  stroke: HeatStroke;
  done: boolean;
  /** When somebody said that it began; null where nobody did. */
  at: number | null;
  longer: number;
  marked: boolean;
}

/** A touch on metal; `seconds` is null until somebody says how long it was. */
export interface Touch {
  after: number;
  at: number | null;
  seconds: number | null;
}

/** The strokes of the plan as the marks have them: done where somebody said that they began. */
export function entered(strokes: readonly HeatStroke[], marks: readonly RoundMark[]): Entered[] {
  const said = byKey(marks);
  return strokes.map((stroke, i) => {
    const at = said.get(strokeKey(i))?.at_s ?? null;
    return { stroke, done: at !== null, at, longer: 0, marked: said.has(leftOutKey(i)) || said.has(`otherwise ${i}`) };
  });
}

/** The touches on metal as they were marked. */
export const touched = (strokes: readonly HeatStroke[], marks: readonly RoundMark[]): Touch[] =>
  marks.filter((mark) => mark.kind === "metal").map(({ at_s, lasted_s }) => ({ after: strokeAt(strokes, marks, at_s), at: at_s, seconds: lasted_s ?? null }));

/** The log as the server takes it, in the order of time. A stroke that nobody said began is put where the plan has it, moved by what was late. */
export function eventsOf(lines: readonly Entered[], touches: readonly Touch[], stoppedAt: number | null): RoundEvent[] {
  let behind = 0;
  const strokes: RoundEvent[] = lines
    .filter((line) => line.done)
    .map(({ stroke, at, longer }) => {
      const begun = at ?? stroke.start_s + behind;
      const event: RoundEvent = { kind: "stroke", sector: stroke.sector, at_s: begun, lasted_s: stroke.end_s - stroke.start_s + longer };
      behind = Math.max(behind, begun + longer - stroke.start_s);
      return event;
    });
  const metal: RoundEvent[] = touches.map(({ after, at, seconds }) => {
    const line = lines[after];
    return { kind: "metal", sector: line?.stroke.sector ?? null, at_s: at ?? line?.at ?? line?.stroke.start_s ?? 0, lasted_s: seconds };
  });
  const events = [...strokes, ...metal].sort((a, b) => a.at_s - b.at_s);
  const last = events.at(-1)?.at_s ?? 0;
  return stoppedAt === null ? events : [...events, { kind: "stopped", sector: null, at_s: Math.max(last, stoppedAt), lasted_s: null }];
}
