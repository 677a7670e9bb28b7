// The scan of a preparation: the file that was picked, what was told beside it, and the answer. Nothing of it is kept.
import * as api from "../api/client";
import { toVector, type Vector } from "../scale/solid";
import { toldOf } from "./told";

export type Unit = "mm" | "um" | "cm" | "in";
export const UNITS: readonly Unit[] = ["mm", "um", "cm", "in"];

export class Preparation {
  file = $state.raw<File | null>(null);
  unit = $state<Unit>("mm");
  answer = $state.raw<api.ScannedPreparation | null>(null);
  reading = $state(false);
  refused = $state.raw<string[]>([]);
  #facial: Vector | null = null;
  #tooth: number | undefined;
  #asking: AbortController | null = null;

  /** Read a file that was picked; which side is facial is not known of it yet. */
  pick(file: File, caseId: string, tooth: number | undefined): void {
    this.file = file;
    this.#facial = null;
    this.answer = null;
    void this.#read(caseId, tooth);
  }

  /** Read the file again in another unit. */
  inUnit(unit: Unit, caseId: string, tooth: number | undefined): void {
    this.unit = unit;
    void this.#read(caseId, tooth);
  }

  /** Say that facial lies at an angle of the answer that stands; its angles then count anew from there. */
  facialAt(deg: number, caseId: string, tooth: number | undefined): void {
    if (this.answer === null) return;
    this.#facial = toVector(this.answer.frame, deg);
    void this.#read(caseId, tooth);
  }

  /** Drop the answer where it was of another tooth. */
  of(tooth: number | undefined): void {
    if (tooth === this.#tooth || this.file === null) return;
    this.#asking?.abort();
    Object.assign(this, { file: null, answer: null, reading: false, refused: [] });
  }

  async #read(case_id: string, tooth: number | undefined): Promise<void> {
    if (this.file === null) return;
    this.#asking?.abort();
    const mine = (this.#asking = new AbortController());
    this.#tooth = tooth;
    this.reading = true;
    this.refused = [];
    const facial = this.#facial === null ? undefined : this.#facial.map((part) => part.toFixed(6)).join(",");
    const query = { unit: this.unit, case_id, ...(tooth === undefined ? {} : { tooth }), ...(facial === undefined ? {} : { facial }) };
    try {
      const answer = await api.judgePreparation(this.file, query, mine.signal);
      if (mine.signal.aborted) return;
      this.answer = answer;
    } catch (error) {
      if (mine.signal.aborted) return;
      this.answer = null;
      this.refused = toldOf(error);
    }
    this.reading = false;
  }
}
