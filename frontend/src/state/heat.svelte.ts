// Heat and pacing of one tooth of the draft: asked for when it is looked at, the newest answer wins. Nothing is computed here.
import * as api from "../api/client";

const SETTLE_MS = 250;

export class Heat {
  answer = $state.raw<api.HeatDocument | null>(null);
  /** Whether `answer` belongs to the draft and the wishes as they stand. */
  current = $state(false);
  refused = $state.raw<string[]>([]);
  passes = $state<number | null>(null);
  loop = $state(false);
  #asking: AbortController | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #generation = Date.now();
  #of = -1;

  get tooth(): api.ToothHeat | null {
    return this.answer?.teeth[0] ?? null;
  }

  ask(document: api.CaseDocument, tooth: number): void {
    const wishes = { passes: this.passes, loop: this.loop };
    this.stop();
    const mine = (this.#asking = new AbortController());
    this.current = false;
    if (tooth !== this.#of) this.answer = null;
    this.#of = tooth;
    const body = { document, tooth, ...wishes, generation: ++this.#generation };
    this.#timer = setTimeout(() => void this.#ask(body, mine.signal), SETTLE_MS);
  }

  /** Stop asking: the leaf was left, or something newer is asked. */
  stop(): void {
    this.#asking?.abort();
    clearTimeout(this.#timer);
  }

  async #ask(body: api.HeatRequest, signal: AbortSignal): Promise<void> {
    try {
      const { heat } = await api.paceTooth(body, signal);
      if (signal.aborted) return;
      this.answer = heat;
      this.refused = [];
      this.current = true;
    } catch (error) {
      if (signal.aborted) return;
      if (!(error instanceof api.Refused)) throw error;
      this.refused = error.problem?.errors.map(({ what, allowed }) => `${what}; ${allowed}`) ?? [error.message];
    }
  }
}
