// The state of one open case: saved (last server revision), draft (the case being edited), plan (last answer), ui.
import * as api from "../api/client";
import { Refused } from "../api/client";
import { listed, refusedOf, withBack, type Recorded } from "./by_name";
import { teethOf, withHold, withoutHold, wordAt, type HeldLine, type ToothDraft } from "./edits";
import { begin, put, redo, undo, type History } from "./history";
import { keep, type KeptCase } from "./kept";
import { rebased, same, withAt, type Clash } from "./merge";
import { Typing } from "./typing.svelte";
import { Saver, type Held, type Outcome, type Saving } from "./saver";

export interface Dragging {
  line: HeldLine;
  station: number;
  site: string;
  height: number;
}

const PLAN_MS = 60;
const RETRY_MS = 2000;

/** What cannot be taken: its place as the case file names it, and what the screen says of it. */
export type Fault = Pick<api.Problem["errors"][number], "where" | "page">;

export class Workbench {
  readonly caseId: string;
  history = $state.raw<History<api.CaseDocument>>(begin({}));
  /** The newest revision this window knows. */
  revision = $state(0);
  saving = $state<Saving>("saved");
  /** Fields that another window changed to something else than this one did. */
  clashes = $state.raw<Clash[]>([]);
  /** Whether something was not written, because the case had changed in another window. */
  overtaken = $state(false);
  plan = $state.raw<api.Plan | null>(null);
  moved = $state.raw<api.Route | null>(null);
  waiting = $state(false);
  judging = $state(false);
  faults = $state.raw<Fault[]>([]);
  /** Whether the server did not answer the last question; what is typed waits in this tab. */
  away = $state(false);
  /** Why the server answers and saves nothing, where that is no fault of what was typed. */
  trouble = $state.raw<api.Problem | null>(null);
  tooth = $state(0);
  station = $state(0);
  drag = $state.raw<Dragging | null>(null);
  stored = $state.raw<api.StoredPlan[]>([]);
  readonly typing: Typing;
  #dropped = $state.raw<Recorded[]>([]);
  #chosen = $state.raw<Record<number, api.RouteName>>({});

  #generation = Date.now(); // grows over reloads too, so that the server never takes a new request for an old one
  #planning: AbortController | null = null;
  #judging: AbortController | null = null;
  #planTimer: ReturnType<typeof setTimeout> | undefined;
  readonly #saver: Saver<api.CaseDocument>;
  #lastGesture = "";
  #lastGestureAt = 0;

  /** `kept`: what this browser kept of the case that is not saved. */
  constructor(opened: api.CaseAnswer, kept: KeptCase | null) {
    this.caseId = opened.case_id;
    this.history = kept?.history ?? begin(opened.document);
    this.clashes = kept?.clashes ?? [];
    this.typing = new Typing(kept?.typing ?? {}, () => this.#keep());
    this.#saver = new Saver<api.CaseDocument>(
      {
        draft: () => this.draft,
        same,
        send: (base, document, signal) => this.#send(base, document, signal),
        take: (from, newest, own) => this.#take(from, newest, own),
        choosing: () => this.clashes.length > 0,
        tell: (saving) => {
          this.saving = saving;
          this.revision = this.#saver.held.revision;
          this.#keep();
        },
      },
      kept ?? { revision: opened.revision, document: opened.document, flight: null },
    );
    this.saving = this.#saver.saving;
    this.revision = this.#saver.held.revision;
    this.#saver.found(opened);
    if (this.saving !== "saved") void this.#saver.now();
    void this.#replan();
    void this.#listPlans();
  }

  get draft(): api.CaseDocument {
    return this.history.now;
  }

  /** Whether the record does not hold all of it yet, be it only what stands in a cell. */
  get unsaved(): boolean {
    return this.saving !== "saved" || this.typing.any;
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

  /** Where something is typed of the tooth in view. */
  placeOf(cell: string): string {
    return `${this.#number} ${cell}`;
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
    if (!base?.cut_line_height_mm || !base.finish_line_height_mm) return;
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
          cut_line_height_mm: base.cut_line_height_mm,
          finish_line_height_mm: base.finish_line_height_mm,
          bone_reduction_mm: base.bone_reduction_mm,
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
    if (!(await this.#saver.now())) return null;
    const plan = await api.storePlan(this.caseId, this.revision);
    await this.#listPlans();
    return plan;
  }

  /** Save what is not saved; true once the record holds it. */
  save(): Promise<boolean> {
    return this.#saver.now();
  }

  /** Let the server write into the case what only it may write; true once it is written. Where the case had changed elsewhere a person looks first. */
  async record(write: (base_revision: number) => Promise<api.CaseAnswer>): Promise<boolean> {
    const kind = await this.#saver.write(async (base) => {
      try {
        return { kind: "saved", now: await write(base) };
      } catch (error) {
        const newer = overtaken(error);
        if (newer === null) throw error;
        return newer;
      }
    });
    this.overtaken = kind === "newer";
    return kind === "saved";
  }

  /** Take one of the two values of a field that two windows changed. */
  settle(clash: Clash, theirs: boolean): void {
    this.clashes = this.clashes.filter((other) => other !== clash);
    if (theirs) this.edit(withAt(this.draft, clash.path, clash.theirs), "settle");
    else this.#saver.changed();
  }

  /** What was deleted here and is still in the record, because it leaves by name and reason alone: put back, it waits for a person. */
  get dropped(): Recorded[] {
    return this.#dropped.filter(({ field, entry }) => listed(this.draft, field).includes(entry));
  }

  /** Ask no more for a name for something that was deleted here. */
  leave(one: Recorded): void {
    this.#dropped = this.#dropped.filter((other) => !same(one, other));
  }

  /** Stop asking and saving: the case was left with everything saved. */
  rest(): void {
    this.#planning?.abort();
    clearTimeout(this.#planTimer);
    this.#saver.rest();
  }

  #become(history: History<api.CaseDocument>): void {
    if (history === this.history) return;
    this.history = history;
    if (this.tooth >= this.teeth.length) this.turnTo(this.planned[0] ?? 0);
    this.#planSoon();
    this.#keep();
    this.#saver.changed();
  }

  #planSoon(): void {
    this.waiting = true;
    clearTimeout(this.#planTimer);
    this.#planTimer = setTimeout(() => void this.#replan(), PLAN_MS);
  }

  /** What the record holds comes under the draft; what is typed stays on top of it. */
  #take(from: api.CaseDocument, newest: api.CaseDocument, own: boolean): void {
    const { history, clashes } = rebased(this.history, from, newest);
    this.history = history;
    if (!own) this.clashes = [...this.clashes.filter((old) => !clashes.some((clash) => same(clash.path, old.path))), ...clashes];
    this.#planSoon();
  }

  /** Put back what leaves the record by name alone, so that all else that was typed is saved at once. */
  #putBack(entries: readonly Recorded[]): void {
    if (entries.length === 0) return;
    this.history = withBack(this.history, entries, this.#saver.held.document);
    this.#dropped = [...this.#dropped.filter((old) => !entries.some((one) => same(one, old))), ...entries];
    this.#planSoon();
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

  async #send(base: number, document: api.CaseDocument, signal: AbortSignal): Promise<Outcome<api.CaseDocument>> {
    try {
      const now = await api.saveCase(this.caseId, base, document, signal);
      this.away = false;
      this.trouble = null;
      return { kind: "saved", now };
    } catch (error) {
      const newer = overtaken(error);
      this.away = error instanceof TypeError;
      this.trouble = null;
      if (newer !== null) return newer;
      if (error instanceof Refused && error.status === 422) {
        this.#putBack(refusedOf(error.problem?.errors ?? [], document, this.#saver.held.document));
        return { kind: "faulty" };
      }
      this.trouble = error instanceof Refused ? error.problem : null;
      return { kind: "unanswered" };
    }
  }

  async #listPlans(): Promise<void> {
    try {
      this.stored = (await api.listPlans(this.caseId)).plans;
    } catch (error) {
      if (error instanceof Refused) throw error;
      setTimeout(() => void this.#listPlans(), RETRY_MS);
    }
  }

  /** Keep what the server found at fault; where it did not answer, say so and ask again. */
  #refused(error: unknown): void {
    if (error instanceof Refused) {
      this.away = false;
      this.faults = error.problem?.errors ?? [];
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
    keep(this.caseId, { ...this.#saver.kept, history: this.history, clashes: this.clashes, typing: this.typing.texts }, !this.unsaved);
  }
}

/** The newer revision that a write met, where it met one. */
function overtaken(error: unknown): (Outcome<api.CaseDocument> & { kind: "newer" }) | null {
  const problem = error instanceof Refused && error.status === 409 ? error.problem : null;
  const newest: Held<api.CaseDocument> | undefined = problem?.newest;
  return newest === undefined ? null : { kind: "newer", newest, takenAs: problem?.taken_as ?? null };
}

/** The route with lines that holds in most draws; the first where none has any. */
function nearest(routes: readonly api.Route[]): api.Route | null {
  const drawn = routes.filter((route) => route.finish_line_height_mm !== null);
  const by = (a: api.Route, b: api.Route): number => (b.joint_probability ?? 0) - (a.joint_probability ?? 0);
  return [...drawn].sort(by)[0] ?? routes[0] ?? null;
}
