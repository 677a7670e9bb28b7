// A round in work: a stroke begins when somebody says so. It is anchored at the instant from which its first stroke may begin, on
// the page's own clock, which is only read, never counted.
// What happens goes into the record as it happens; a server that is away for a while is asked again, and the page says so.
import * as api from "../api/client";
import { hand } from "./idle";
import { Outbox } from "./outbox";
import { begunMark, joined, leftOutMark, markOf, standing, standings } from "./round";
import { Sound } from "./sound";
import { toldOf } from "./told";

const LOOK_MS = 50;
const ASK_MS = 2000;
/** What the clocks of page and server may lie apart by the way of an answer; a page that slept lies further off. */
const APART_S = 1;

export class Running {
  round = $state.raw<api.Round | null>(null);
  /** Seconds since the first stroke might begin; below 0 before it. */
  now = $state(0);
  /** What the record holds of the round, and what is on its way there. */
  marks = $state.raw<api.RoundMark[]>([]);
  written = $state(true);
  sounding = $state(false);
  refused = $state.raw<string[]>([]);
  /** The round as it was closed; null while it was not. */
  ended = $state.raw<api.RecordedRound | null>(null);
  /** While it is being closed, what the record holds is not asked for: the answer would come too early or too late. */
  closing = false;
  #origin_ms = 0;
  #looking: ReturnType<typeof setInterval> | undefined;
  #asking: ReturnType<typeof setInterval> | undefined;
  #outbox: Outbox | null = null;
  readonly #sound = new Sound();
  readonly #caseId: string;

  constructor(caseId: string) {
    this.#caseId = caseId;
  }

  get strokes(): api.HeatStroke[] {
    return this.round?.heat.round?.strokes ?? [];
  }

  get moment() {
    return standing(this.strokes, this.marks, this.now);
  }

  get standing() {
    return this.round === null ? [] : standings(this.round.heat, this.moment);
  }

  /** When it was stopped, in seconds of the round; null while it was not. */
  get stoppedAt(): number | null {
    return this.marks.find((mark) => mark.kind === "stopped")?.at_s ?? null;
  }

  get runs(): boolean {
    return this.round !== null && this.round.halted.length === 0 && this.stoppedAt === null && this.moment.phase !== "done";
  }

  /** Let it sound; only a touch or a key may ask for that. */
  async arm(): Promise<void> {
    this.sounding = await this.#sound.arm();
    this.#tones();
  }

  async start(body: Parameters<typeof api.startRound>[1]): Promise<void> {
    try {
      this.#take(await api.startRound(this.#caseId, body));
      this.refused = [];
    } catch (error) {
      this.refused = toldOf(error);
    }
  }

  /** Ask what the record holds, now and again and again, until the returned function is called: another tab may have gone on. */
  watch(): () => void {
    void this.resume();
    clearInterval(this.#asking);
    this.#asking = setInterval(() => void this.#again(), ASK_MS);
    return () => clearInterval(this.#asking);
  }

  /** Take up the round that the record holds: after a reload, a new start of the program, or when the page wakes up. */
  async resume(): Promise<void> {
    let round: api.Round | null;
    try {
      round = (await api.roundNow(this.#caseId)).round;
    } catch {
      return; // the server is away: the round goes on by the clock of this page
    }
    if (this.ended !== null || this.closing) return;
    if (round !== null) this.#take(round);
    else if (this.round !== null) this.forget(); // it was closed in another tab
  }

  /** Say that the next stroke begins; false while it may not. */
  begin(): boolean {
    this.#look();
    return this.#said(begunMark(this.strokes, this.marks, this.now));
  }

  /** Leave out the next stroke; false where none is waited for. */
  leaveOut(): boolean {
    this.#look();
    return this.#said(leftOutMark(this.strokes, this.marks, this.now));
  }

  /** One touch: metal was touched, the stroke went otherwise. `held`: how long the touch was held. */
  mark(kind: "metal" | "otherwise", at = this.now, held: number | null = null): void {
    this.#add([markOf(kind, this.strokes, this.marks, at, crypto.randomUUID(), held)]);
  }

  stop(): void {
    if (!this.runs) return;
    this.#look();
    this.#add([{ key: "stopped", kind: "stopped", at_s: Math.max(0, this.now), sector: null, lasted_s: null }]);
    this.#rest();
  }

  /** The round was closed: what was kept is shown until a further one is wanted. */
  close(ended: api.RecordedRound): void {
    this.#rest();
    this.ended = ended;
  }

  forget(): void {
    this.#rest();
    this.round = null;
    this.ended = null;
    this.marks = [];
    this.#outbox = null;
  }

  async leave(): Promise<void> {
    this.#rest();
    clearInterval(this.#asking);
    await this.#sound.close();
  }

  #take(round: api.Round): void {
    const origin_ms = performance.now() - round.now_s * 1000;
    if (this.round?.round_id !== round.round_id) {
      this.#outbox = new Outbox(this.#caseId, round.round_id);
      this.#origin_ms = origin_ms;
      this.marks = [];
      this.ended = null;
    } else if (Math.abs(origin_ms - this.#origin_ms) > APART_S * 1000) {
      this.#origin_ms = origin_ms; // this page slept
    }
    this.round = round;
    this.marks = joined(round.marks, this.#outbox?.waiting ?? []);
    this.#send();
    this.now = (performance.now() - this.#origin_ms) / 1000;
    if (!this.runs) return this.#rest();
    this.#tones();
    clearInterval(this.#looking);
    this.#looking = setInterval(() => this.#look(), LOOK_MS);
  }

  #said(mark: api.RoundMark | null): boolean {
    if (mark === null || !this.runs) return false;
    this.#add([mark]);
    this.#tones();
    return true;
  }

  /** Plan the tones of the stroke that is going on, and of the moment from which the next one may begin. */
  #tones(): void {
    if (!this.sounding || !this.runs) return;
    const { phase, left } = this.moment;
    if (phase === "stroke") this.#sound.plan(left, standing(this.strokes, this.marks, this.now + left).left + left);
    else this.#sound.plan(null, phase === "ready" ? null : left);
  }

  #look(): void {
    this.now = (performance.now() - this.#origin_ms) / 1000;
    if (this.runs) hand();
    else clearInterval(this.#looking);
  }

  #add(marks: api.RoundMark[]): void {
    this.#outbox?.add(marks);
    this.marks = joined(this.marks, marks);
    this.written = false;
    this.#send();
  }

  #send(): void {
    void this.#outbox?.send().then(() => (this.written = this.#outbox?.waiting.length === 0));
  }

  async #again(): Promise<void> {
    if (document.visibilityState === "hidden" && this.round === null) return;
    await this.resume();
    if (!this.written) this.#send();
  }

  #rest(): void {
    clearInterval(this.#looking);
    this.#sound.quiet();
  }
}
