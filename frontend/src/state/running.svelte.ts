// A round in work: anchored at the instant of its first stroke on the page's own clock, which is only read, never counted.
import * as api from "../api/client";
import { momentOf, standings } from "./round";
import { Sound } from "./sound";

const LOOK_MS = 50;

export class Running {
  round = $state.raw<api.Round | null>(null);
  /** Seconds since the first stroke was due; below 0 before it. */
  now = $state(0);
  /** When it was stopped, in the same seconds; null while it was not. */
  stoppedAt = $state<number | null>(null);
  sounding = $state(false);
  closed = $state.raw<string[]>([]);
  /** What the server says of the log that was kept; null while none was. */
  kept = $state.raw<api.RoundLog["state"] | null>(null);
  #forgotten = "";
  #origin_ms = 0;
  #timer: ReturnType<typeof setInterval> | undefined;
  readonly #sound = new Sound();
  readonly #caseId: string;

  constructor(caseId: string) {
    this.#caseId = caseId;
  }

  get moment() {
    return momentOf(this.round?.heat.round?.strokes ?? [], this.now);
  }

  get standing() {
    return this.round === null ? [] : standings(this.round.heat, this.moment);
  }

  get runs(): boolean {
    return this.round !== null && this.stoppedAt === null && this.moment.phase !== "done";
  }

  /** Let it sound; only a touch or a key may ask for that. */
  async arm(): Promise<void> {
    this.sounding = await this.#sound.arm();
    if (this.runs) this.#sound.plan(this.round?.heat.round?.strokes ?? [], this.now);
  }

  async start(body: Parameters<typeof api.startRound>[1]): Promise<void> {
    await this.#told(async () => this.#begin(await api.startRound(this.#caseId, body)));
  }

  /** Take up the round that the server knows of: after a reload, or when the page wakes up. */
  async resume(): Promise<void> {
    await this.#told(async () => {
      const { round } = await api.roundNow(this.#caseId);
      if (round !== null && this.stoppedAt === null && round.began_at !== this.#forgotten) this.#begin(round);
    });
  }

  stop(): void {
    if (!this.runs) return;
    this.#look();
    this.stoppedAt = Math.max(0, this.now);
    this.#rest();
  }

  /** Forget the round: it was kept, or is not to be. */
  forget(): void {
    this.#rest();
    this.#forgotten = this.round?.began_at ?? "";
    this.kept = null;
    this.round = null;
    this.stoppedAt = null;
  }

  async close(): Promise<void> {
    this.#rest();
    await this.#sound.close();
  }

  #begin(round: api.Round): void {
    this.round = round;
    this.stoppedAt = null;
    this.kept = null;
    this.#origin_ms = performance.now() - round.now_s * 1000;
    this.#look();
    if (!this.runs) return;
    if (this.sounding) this.#sound.plan(round.heat.round?.strokes ?? [], this.now);
    clearInterval(this.#timer);
    this.#timer = setInterval(() => this.#look(), LOOK_MS);
  }

  #look(): void {
    this.now = (performance.now() - this.#origin_ms) / 1000;
    if (!this.runs) clearInterval(this.#timer);
  }

  #rest(): void {
    clearInterval(this.#timer);
    this.#sound.quiet();
  }

  async #told(work: () => Promise<void>): Promise<void> {
    try {
      await work();
      this.closed = [];
    } catch (error) {
      if (!(error instanceof api.Refused)) throw error;
      this.closed = error.problem?.errors.map(({ what }) => what) ?? [error.message];
      this.stop();
    }
  }
}
