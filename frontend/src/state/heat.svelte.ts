// Heat and pacing of one tooth of the draft, under the wishes of this screen.
import * as api from "../api/client";
import { Asked } from "./asked.svelte";

export class Heat extends Asked<api.HeatRequest, api.HeatDocument> {
  passes = $state<number | null>(null);
  loop = $state(false);
  #generation = Date.now();

  constructor() {
    super(async (question, signal) => (await api.paceTooth(question, signal)).heat);
  }

  get tooth(): api.ToothHeat | null {
    return this.answer?.teeth[0] ?? null;
  }

  ask(document: api.CaseDocument, tooth: number): void {
    this.put({ document, tooth, passes: this.passes, loop: this.loop, generation: ++this.#generation }, tooth);
  }
}
