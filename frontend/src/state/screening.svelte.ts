// The gate as the server sees it for the draft: asked anew after every answer, the newest answer wins. Nothing is decided here.
import * as api from "../api/client";

const SETTLE_MS = 80;
const RETRY_MS = 600;

export class Screening {
  rules = $state.raw<api.SafetyRule[]>([]);
  layers = $state.raw<api.SafetyRules["layers"]>([]);
  lines = $state.raw<api.RoomLine[]>([]);
  instruments = $state.raw<api.SafetyRules["instruments"]>([]);
  roles = $state.raw<api.SafetyRules["roles"]>([]);
  gate = $state.raw<api.Safety | null>(null);
  /** Whether `gate` belongs to the draft as it stands. */
  current = $state(false);
  #asking: AbortController | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor() {
    void api.safetyRules().then((found) => {
      this.rules = found.rules;
      this.layers = found.layers;
      this.lines = found.lines;
      this.instruments = found.instruments;
      this.roles = found.roles;
    });
  }

  /** Ask for the gate of a draft and an operation, a moment after the last answer; where it could not be asked, again until it could. */
  assess(draft: api.CaseDocument, procedure: api.Procedure = "current", wait_ms = SETTLE_MS): void {
    this.#asking?.abort();
    const mine = (this.#asking = new AbortController());
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#ask(draft, procedure, mine), wait_ms);
  }

  /** Stop asking: the leaf was left. */
  stop(): void {
    this.#asking?.abort();
    clearTimeout(this.#timer);
  }

  async #ask(draft: api.CaseDocument, procedure: api.Procedure, mine: AbortController): Promise<void> {
    this.current = false;
    try {
      const gate = await api.assessSafety(draft, procedure, mine.signal);
      if (mine.signal.aborted) return;
      this.gate = gate;
      this.current = true;
    } catch (error) {
      // A draft with faults has no state of the gate; the faults are told by the plan.
      const faulty = error instanceof api.Refused && error.status === 422;
      if (!mine.signal.aborted && !faulty) this.assess(draft, procedure, RETRY_MS);
    }
  }
}
