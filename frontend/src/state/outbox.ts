// Marks of a round on their way into the record: kept by the browser until the server has written them, over a reload and a new start.
import * as api from "../api/client";
import { joined } from "./round";

/** Where what is not yet written stands, for every tab of this workbench. */
const keyOf = (roundId: string): string => `collum-round-${roundId}`;

export class Outbox {
  readonly #caseId: string;
  readonly #roundId: string;
  #sending = false;

  constructor(caseId: string, roundId: string) {
    this.#caseId = caseId;
    this.#roundId = roundId;
  }

  get waiting(): api.RoundMark[] {
    return JSON.parse(localStorage.getItem(keyOf(this.#roundId)) ?? "[]") as api.RoundMark[];
  }

  add(marks: readonly api.RoundMark[]): void {
    this.#become(joined(this.waiting, marks));
  }

  /** Send what waits; true once nothing does. Whatever goes wrong on the way, it goes on waiting, but for a round that takes no more. */
  async send(): Promise<boolean> {
    if (this.#sending) return false;
    this.#sending = true;
    try {
      for (let marks = this.waiting; marks.length > 0; marks = this.waiting) {
        await api.markRound(this.#caseId, this.#roundId, marks);
        this.#written(marks);
      }
    } catch (error) {
      if (error instanceof api.Refused && (error.status === 404 || error.status === 409)) this.#become([]);
    } finally {
      this.#sending = false;
    }
    return this.waiting.length === 0;
  }

  #written(marks: readonly api.RoundMark[]): void {
    const keys = new Set(marks.map((mark) => mark.key));
    this.#become(this.waiting.filter((mark) => !keys.has(mark.key)));
  }

  #become(marks: readonly api.RoundMark[]): void {
    if (marks.length === 0) localStorage.removeItem(keyOf(this.#roundId));
    else localStorage.setItem(keyOf(this.#roundId), JSON.stringify(marks));
  }
}
