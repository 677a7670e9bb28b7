// What is reckoned on demand: asked for when it is looked at, the newest question wins. Nothing is computed here.
import { Refused } from "../api/client";
import { toldOf } from "./told";

const SETTLE_MS = 250;
const RETRY_MS = 2000;

export class Asked<Question, Answer> {
  answer = $state.raw<Answer | null>(null);
  /** Whether `answer` belongs to what was asked last. */
  current = $state(false);
  /** The question `answer` was given to. */
  answered = $state.raw<Question | null>(null);
  refused = $state.raw<string[]>([]);
  #asking: AbortController | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #of: string | number | null = null;

  constructor(readonly send: (question: Question, signal: AbortSignal) => Promise<Answer>) {}

  /** Ask once the hand rests. An older answer stays, marked as not current, as long as it is of the same thing. */
  put(question: Question, of: string | number, wait_ms = SETTLE_MS): void {
    this.stop();
    const mine = (this.#asking = new AbortController());
    this.current = false;
    if (of !== this.#of) this.answer = null;
    this.#of = of;
    this.#timer = setTimeout(() => void this.#ask(question, of, mine.signal), wait_ms);
  }

  /** Stop asking: the leaf was left, or something newer is asked. */
  stop(): void {
    this.#asking?.abort();
    clearTimeout(this.#timer);
  }

  async #ask(question: Question, of: string | number, signal: AbortSignal): Promise<void> {
    try {
      const answer = await this.send(question, signal);
      if (signal.aborted) return;
      this.answer = answer;
      this.answered = question;
      this.refused = [];
      this.current = true;
    } catch (error) {
      if (signal.aborted) return;
      this.refused = toldOf(error);
      if (!(error instanceof Refused)) this.put(question, of, RETRY_MS);
    }
  }
}
