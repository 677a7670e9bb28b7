// The state of one open case: saved (last server revision), draft (the case being edited), plan (last answer), ui.
import * as api from "../api/client";
import { Refused } from "../api/client";
import { teethOf, withHold, withoutHold, wordAt, type HeldLine, type ToothDraft } from "./edits";
import { begin, put, redo, undo, type History } from "./history";

export type Saving = "saved" | "saving" | "retrying" | "elsewhere" | "faulty";
export interface Dragging {
  line: HeldLine;
  station: number;
  site: string;
  height: number;
}

const AUTOSAVE_MS = 400;
const PLAN_MS = 60;
const RETRY_MS = 2000;

/** What cannot be taken, as the case file names its place. */
export interface Fault {
  where: string;
  what: string;
  allowed: string;
}

export class Workbench {
  readonly caseId: string;
  history = $state.raw<History<api.CaseDocument>>(begin({}));
  revision = $state(0);
  saving = $state<Saving>("saved");
  elsewhere = $state.raw<api.CaseAnswer | null>(null);
  plan = $state.raw<api.Plan | null>(null);
  moved = $state.raw<api.Route | null>(null);
  waiting = $state(false);
  judging = $state(false);
  faults = $state.raw<Fault[]>([]);
  /** Whether the server did not answer the last question; what is typed waits in this tab. */
  away = $state(false);
  tooth = $state(0);
  station = $state(0);
  drag = $state.raw<Dragging | null>(null);
  stored = $state.raw<api.StoredPlan[]>([]);
  #chosen = $state.raw<Record<number, api.RouteName>>({});

  #generation = Date.now(); // grows over reloads too, so that the server never takes a new request for an old one
  #planning: AbortController | null = null;
  #judging: AbortController | null = null;
  #planTimer: ReturnType<typeof setTimeout> | undefined;
  #saveTimer: ReturnType<typeof setTimeout> | undefined;
  #lastGesture = "";
  #lastGestureAt = 0;

  constructor(opened: api.CaseAnswer) {
    this.caseId = opened.case_id;
    this.revision = opened.revision;
    const kept = this.#kept(opened);
    this.history = kept?.history ?? begin(opened.document);
    void this.#replan();
    if (kept !== null && !kept.saved) this.#saveSoon();
    void this.#listPlans();
  }

  get draft(): api.CaseDocument {
    return this.history.now;
  }

  get teeth(): ToothDraft[] {
    return teethOf(this.draft);
  }

  /** The practice's own code of the patient. */
  get reference(): string {
    return wordAt(this.draft, "patient.reference");
  }

  /** Positions of the teeth that are planned (a neighbour gives readings only). */
  get planned(): number[] {
    return this.teeth.flatMap((tooth, i) => (tooth["role"] === "neighbour" ? [] : [i]));
  }

  /** The number of the tooth in view: choices belong to it, wherever it stands in the case. */
  get #number(): number {
    return this.teeth[this.tooth]?.number ?? 0;
  }

  get toothPlan(): api.ToothPlan | null {
    return this.plan?.teeth.find((tooth) => tooth.number === this.#number) ?? null;
  }

  /** The routes as planned; the one whose lines are being moved as judged last. */
  get routes(): api.Route[] {
    return (this.toothPlan?.routes ?? []).map((route) => (route.name === this.moved?.name ? this.moved : route));
  }

  /** The chosen route: the dentist's choice, else the recommended one, else the one that comes nearest to being kept. */
  get route(): api.Route | null {
    const wanted = this.#chosen[this.#number] ?? this.toothPlan?.recommended_route;
    const routes = this.routes;
    return routes.find((route) => route.name === wanted) ?? nearest(routes);
  }

  /** Whether a line is in the hand, so that what is shown of its route is not the plan's answer yet. */
  get inHand(): boolean {
    return this.drag !== null || this.moved !== null || this.judging;
  }

  choose(name: api.RouteName): void {
    this.moved = null;
    this.#chosen = { ...this.#chosen, [this.#number]: name };
  }

  turnTo(tooth: number): void {
    this.moved = null;
    this.tooth = tooth;
    this.station = this.#telling();
  }

  edit(next: api.CaseDocument, gesture: string): void {
    const now = performance.now();
    const same = gesture === this.#lastGesture && now - this.#lastGestureAt < 600;
    this.#lastGesture = gesture;
    this.#lastGestureAt = now;
    this.#become(put(this.history, next, same));
  }

  undo(): void {
    this.#become(undo(this.history));
  }

  redo(): void {
    this.#become(redo(this.history));
  }

  hold(line: HeldLine, site: string, fromMargin: number): void {
    this.edit(withHold(this.draft, this.tooth, line, site, fromMargin), `hold ${line} ${site}`);
  }

  /** Release one held place, or all of them, whatever is on its way for them. */
  release(line?: HeldLine, site?: string): void {
    this.#judging?.abort();
    this.judging = false;
    this.moved = null;
    this.drop();
    this.edit(withoutHold(this.draft, this.tooth, line, site), "release");
  }

  /** While a handle is in the hand: the server bends the line and judges it; nothing is computed here. Its route stays chosen. */
  async move(drag: Dragging): Promise<void> {
    this.drag = drag;
    const base = this.toothPlan?.routes.find((route) => route.name === this.route?.name);
    if (!base?.cut_line || !base.finish_line) return;
    this.#chosen = { ...this.#chosen, [this.#number]: base.name };
    this.judging = true;
    this.#judging?.abort();
    const mine = (this.#judging = new AbortController());
    try {
      const answer = await api.judgeLines(
        {
          document: this.draft,
          tooth: this.tooth,
          route: base.name,
          cut_line: base.cut_line,
          finish_line: base.finish_line,
          bone_reduction: base.bone_reduction,
          extrusion_mm: base.extrusion_mm ?? 0,
          hold: { line: drag.line, station_deg: drag.station, height_mm: drag.height },
          generation: ++this.#generation,
        },
        mine.signal,
      );
      if (mine.signal.aborted) return;
      this.moved = answer.route;
      this.judging = false;
    } catch (error) {
      if (mine.signal.aborted) return;
      this.judging = false;
      this.#refused(error);
    }
  }

  drop(): void {
    this.drag = null;
  }

  /** Keep the plan of what is saved; null where it could not be saved. */
  async storePlan(): Promise<api.StoredPlan | null> {
    await this.#save();
    if (this.saving !== "saved") return null;
    const plan = await api.storePlan(this.caseId, this.revision);
    await this.#listPlans();
    return plan;
  }

  /** Let the server write into the case what only it may write; what was done before cannot be undone past it. */
  async record(write: ((base_revision: number) => Promise<api.CaseAnswer>) | null): Promise<void> {
    if (this.saving !== "saved") await this.#save();
    if (this.saving !== "saved" || write === null) return;
    let answer: api.CaseAnswer;
    try {
      answer = await write(this.revision);
    } catch (error) {
      if (!this.#overtaken(error)) throw error;
      return;
    }
    this.revision = answer.revision;
    this.history = begin(answer.document);
    this.#keep();
    void this.#replan();
  }

  /** After a conflict: take the other version, or keep this one on top of it. */
  resolve(keepMine: boolean): void {
    const other = this.elsewhere;
    if (other === null) return;
    this.revision = other.revision;
    this.elsewhere = null;
    this.saving = "saving";
    if (keepMine) void this.#save();
    else this.#become(put(this.history, other.document));
  }

  #become(history: History<api.CaseDocument>): void {
    if (history === this.history) return;
    this.history = history;
    if (this.tooth >= this.teeth.length) this.turnTo(this.planned[0] ?? 0);
    this.waiting = true;
    clearTimeout(this.#planTimer);
    this.#planTimer = setTimeout(() => void this.#replan(), PLAN_MS);
    this.#saveSoon();
  }

  #saveSoon(): void {
    clearTimeout(this.#saveTimer);
    this.saving = "saving";
    this.#keep();
    this.#saveTimer = setTimeout(() => void this.#save(), AUTOSAVE_MS);
  }

  async #replan(): Promise<void> {
    this.#planning?.abort();
    const mine = (this.#planning = new AbortController());
    this.waiting = true;
    try {
      const answer = await api.makePlan(this.draft, ++this.#generation, mine.signal);
      if (mine.signal.aborted) return;
      const first = this.plan === null;
      this.plan = answer.plan;
      if (first) this.station = this.#telling();
      this.moved = null;
      this.faults = [];
      this.away = false;
      this.waiting = false;
    } catch (error) {
      if (mine.signal.aborted) return;
      this.#refused(error);
      this.waiting = this.away;
    }
  }

  async #save(): Promise<void> {
    clearTimeout(this.#saveTimer);
    const sent = this.draft;
    try {
      const answer = await api.saveCase(this.caseId, this.revision, sent);
      this.revision = answer.revision;
      if (sent === this.draft) this.saving = "saved";
      this.#keep();
    } catch (error) {
      if (this.#overtaken(error)) return;
      if (error instanceof Refused && error.status === 422) {
        this.saving = "faulty";
      } else {
        this.saving = "retrying";
        this.#saveTimer = setTimeout(() => void this.#save(), RETRY_MS);
      }
    }
  }

  /** Say whether a write started from an old revision, and offer the newer one. */
  #overtaken(error: unknown): boolean {
    const newest = error instanceof Refused && error.status === 409 ? error.problem?.newest : undefined;
    if (newest === undefined) return false;
    this.elsewhere = newest;
    this.saving = "elsewhere";
    return true;
  }

  async #listPlans(): Promise<void> {
    this.stored = (await api.listPlans(this.caseId)).plans;
  }

  /** Keep what the server found at fault; where it did not answer, say so and ask again. */
  #refused(error: unknown): void {
    if (error instanceof Refused) {
      this.away = false;
      this.faults = error.problem?.errors.map(({ where, what, allowed }) => ({ where, what, allowed })) ?? [];
      return;
    }
    this.away = true;
    clearTimeout(this.#planTimer);
    this.#planTimer = setTimeout(() => void this.#replan(), RETRY_MS);
  }

  /** The station worth looking at first: the worst place of the worst requirement. */
  #telling(): number {
    const deg = this.route?.requirements[0]?.worst_station_deg ?? 0;
    return Math.max(0, this.toothPlan?.stations_deg.indexOf(deg) ?? 0);
  }

  #keep(): void {
    const kept: Kept = { revision: this.revision, history: bounded(this.history), saved: this.saving === "saved" };
    sessionStorage.setItem(this.#key, JSON.stringify(kept));
  }

  get #key(): string {
    return `collum-case-${this.caseId}`;
  }

  /** The history of this browser tab, where it still stems from the revision the server has. */
  #kept(opened: api.CaseAnswer): Kept | null {
    const text = sessionStorage.getItem(this.#key);
    if (text === null) return null;
    const kept = JSON.parse(text) as Kept;
    return kept.revision === opened.revision ? kept : null;
  }
}

/** What a browser tab keeps of a case over a reload; not `saved` where the server does not have it. */
interface Kept {
  revision: number;
  history: History<api.CaseDocument>;
  saved: boolean;
}

/** The route with lines that holds in most draws; the first where none has any. */
function nearest(routes: readonly api.Route[]): api.Route | null {
  const drawn = routes.filter((route) => route.finish_line !== null);
  const by = (a: api.Route, b: api.Route): number => (b.joint_probability ?? 0) - (a.joint_probability ?? 0);
  return [...drawn].sort(by)[0] ?? routes[0] ?? null;
}

/** What of a history is kept over a reload: enough steps, within what the browser stores. */
function bounded(history: History<api.CaseDocument>): History<api.CaseDocument> {
  return { past: history.past.slice(-200), now: history.now, future: history.future.slice(0, 50) };
}
