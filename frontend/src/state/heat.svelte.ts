// Heat and pacing of one tooth of the draft, under the wishes of this screen and with the hands of this practice.
import * as api from "../api/client";
import { Asked } from "./asked.svelte";
import { toldOf } from "./told";

export type HandTime = "position_s" | "wipe_s" | "change_s";

export class Heat extends Asked<api.HeatRequest, api.HeatDocument> {
  passes = $state<number | null>(null);
  loop = $state(false);
  /** What hands and wire take between two strokes; null until the practice has said so. */
  hands = $state.raw<api.Hands | null>(null);
  notKept = $state.raw<string[]>([]);
  #generation = Date.now();

  constructor() {
    super(async (question, signal) => (await api.paceTooth(question, signal)).heat);
  }

  get tooth(): api.ToothHeat | null {
    return this.answer?.teeth[0] ?? null;
  }

  async askHands(): Promise<void> {
    try {
      this.hands = await api.handTimes();
    } catch {
      return; // asked again when the leaf is next opened
    }
  }

  /** Keep one time for this practice; heat is asked for again with it. */
  async keepHand(time: HandTime, seconds: number): Promise<void> {
    if (this.hands === null) return;
    const { fixed: _, ...times } = this.hands;
    try {
      this.hands = await api.keepHandTimes({ ...times, [time]: seconds });
      this.notKept = [];
    } catch (error) {
      this.notKept = toldOf(error);
    }
  }

  /** Ask with what is wished for now; whoever calls it in an effect asks again when the hands are others. */
  ask(document: api.CaseDocument, tooth: number): void {
    void this.hands;
    this.put({ document, tooth, passes: this.passes, loop: this.loop, generation: ++this.#generation }, tooth);
  }
}
