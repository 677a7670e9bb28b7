import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { PATIENCE_MS, RETRY_MS, Saver, SETTLE_MS, type Kept, type Outcome, type Saving } from "../src/state/saver";

/** A document is the numbers that were typed; the record takes what follows its newest revision. */
type Typed = readonly number[];
interface Weather {
  answer_ms?: number;
  /** Reaches the record, whose answer gets lost; or never reaches it. */
  lost?: "answer" | "request";
  refused?: boolean;
  /** No answer at all, not even that there is none. */
  hangs?: boolean;
}

const same = (a: Typed, b: Typed): boolean => JSON.stringify(a) === JSON.stringify(b);

class Record {
  revisions: Typed[] = [[]];
  weather: Weather[] = [];
  bases: number[] = [];
  flying = 0;
  most = 0;

  put(base: number, document: Typed): Outcome<Typed> {
    const newest = { revision: this.revisions.length, document: this.revisions.at(-1) ?? [] };
    if (same(newest.document, document) && newest.revision - base <= 1) return { kind: "saved", now: newest };
    const takenAs = same(this.revisions[base] ?? [-1], document) ? base + 1 : null;
    if (base !== newest.revision) return { kind: "newer", newest, takenAs };
    this.revisions.push(document);
    return { kind: "saved", now: { revision: base + 1, document } };
  }

  async send(base: number, document: Typed, signal: AbortSignal): Promise<Outcome<Typed>> {
    const { answer_ms = 0, lost, refused = false, hangs = false } = this.weather.shift() ?? {};
    this.bases.push(base);
    this.most = Math.max(this.most, ++this.flying);
    const outcome = lost === "request" || refused ? null : this.put(base, document);
    if (hangs) await new Promise((wake) => signal.addEventListener("abort", wake));
    else if (answer_ms > 0) await new Promise((wake) => setTimeout(wake, answer_ms));
    this.flying--;
    if (refused) return { kind: "faulty" };
    return lost !== undefined || hangs || outcome === null ? { kind: "unanswered" } : outcome;
  }
}

class Window {
  draft: Typed = [];
  clashes = 0;
  met: Typed[] = [];
  said: Saving[] = [];
  saver: Saver<Typed>;

  constructor(record: Record, kept: Kept<Typed> = { revision: 1, document: [], flight: null }, draft: Typed = kept.document) {
    this.draft = draft;
    this.saver = new Saver<Typed>(
      {
        draft: () => this.draft,
        same,
        send: (base, document, signal) => record.send(base, document, signal),
        take: (from, newest, own) => this.take(from, newest, own),
        choosing: () => this.clashes > 0,
        tell: (saving) => this.said.push(saving),
      },
      kept,
    );
  }

  take(from: Typed, newest: Typed, own: boolean): void {
    if (!own) this.met.push(newest);
    this.draft = [...newest, ...this.draft.filter((one) => !from.includes(one) && !newest.includes(one))];
  }

  type(number: number): void {
    this.draft = [...this.draft, number];
    this.saver.changed();
  }
}

const last = (record: Record): Typed => record.revisions.at(-1) ?? [];
const pass = (ms: number) => vi.advanceTimersByTimeAsync(ms);

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe("saving", () => {
  it("keeps one save on its way, however quick the hand and slow the answer: 24 entries, no notice", async () => {
    const record = new Record();
    record.weather = Array.from({ length: 40 }, () => ({ answer_ms: 2000 }));
    const window = new Window(record);
    for (let i = 1; i <= 24; i++) {
      window.type(i);
      await pass(500);
    }
    await pass(5000);
    expect(last(record)).toHaveLength(24);
    expect([record.most, window.saver.saving, window.met]).toEqual([1, "saved", []]);
    expect(new Set(window.said)).toEqual(new Set(["saving", "saved"]));
  });

  it("waits for the hand to rest, and sends nothing that is not new", async () => {
    const record = new Record();
    const window = new Window(record);
    window.type(1);
    await pass(SETTLE_MS - 1);
    expect(record.bases).toEqual([]);
    window.draft = [];
    window.saver.changed();
    await pass(SETTLE_MS);
    expect([record.bases, window.saver.saving]).toEqual([[], "saved"]);
  });

  it.each(["answer", "request"] as const)("goes on as if nothing had been when the %s was lost, and more was typed since", async (lost) => {
    const record = new Record();
    record.weather = [{ lost }, { lost }];
    const window = new Window(record);
    window.type(1);
    await pass(SETTLE_MS);
    window.type(2);
    await pass(SETTLE_MS);
    expect(window.saver.saving).toBe("retrying");
    await pass(3 * RETRY_MS);
    expect([last(record), record.revisions.length, window.met, window.saver.saving]).toEqual([[1, 2], 3, [], "saved"]);
  });

  it("sends again what has no answer at all, and heeds no answer that comes after that", async () => {
    const record = new Record();
    record.weather = [{ hangs: true }];
    const window = new Window(record);
    window.type(1);
    await pass(SETTLE_MS + PATIENCE_MS);
    expect(window.saver.saving).toBe("retrying");
    await pass(RETRY_MS);
    expect([record.revisions, window.saver.saving]).toEqual([[[], [1]], "saved"]);
    // The first request reaches the record a second time, long after: it writes nothing.
    window.type(2);
    await pass(SETTLE_MS);
    expect(record.put(1, [1])).toMatchObject({ kind: "newer", takenAs: 2 });
    expect(last(record)).toEqual([1, 2]);
  });

  it("takes in what another window wrote, and saves on top of it", async () => {
    const record = new Record();
    const [one, two] = [new Window(record), new Window(record)];
    for (let i = 1; i <= 10; i++) {
      (i % 2 ? one : two).type(i);
      await pass(SETTLE_MS);
    }
    expect([...last(record)].sort((a, b) => a - b)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    expect([one.saver.saving, two.saver.saving]).toEqual(["saved", "saved"]);
  });

  it("does not take its own save for another's where others followed it before its answer was lost", async () => {
    const record = new Record();
    record.weather = [{ lost: "answer" }];
    const window = new Window(record);
    window.type(1);
    await pass(SETTLE_MS);
    record.put(2, [1, 50]);
    window.type(2);
    const from: Typed[] = [];
    const take = window.take.bind(window);
    window.take = (before, newest, own) => {
      from.push(before);
      take(before, newest, own);
    };
    await pass(RETRY_MS);
    expect([from, last(record), window.saver.saving]).toEqual([[[1]], [1, 50, 2], "saved"]);
  });

  it("saves nothing while a person has to choose, and all of it after", async () => {
    const record = new Record();
    const window = new Window(record);
    window.clashes = 1;
    window.type(1);
    await pass(60_000);
    expect([record.bases, window.saver.saving]).toEqual([[], "elsewhere"]);
    window.clashes = 0;
    window.saver.changed();
    await pass(SETTLE_MS);
    expect([last(record), window.saver.saving]).toEqual([[1], "saved"]);
  });

  it("stops at a fault until something is changed, but not for what was typed since", async () => {
    const record = new Record();
    record.weather = [{ refused: true, answer_ms: 1000 }, {}, { refused: true }];
    const window = new Window(record);
    window.type(1);
    await pass(SETTLE_MS);
    window.type(2);
    await pass(1000);
    expect([last(record), window.saver.saving]).toEqual([[1, 2], "saved"]);
    window.type(3);
    await pass(60_000);
    expect([record.bases.length, window.saver.saving]).toEqual([3, "faulty"]);
    window.type(4);
    await pass(SETTLE_MS);
    expect([last(record), window.saver.saving]).toEqual([[1, 2, 3, 4], "saved"]);
  });

  it("survives a reload with a save whose end is not known", async () => {
    const record = new Record();
    record.weather = [{ lost: "answer" }];
    const before = new Window(record);
    before.type(1);
    await pass(SETTLE_MS);
    before.type(2);
    before.saver.rest();
    const kept = JSON.parse(JSON.stringify(before.saver.kept)) as Kept<Typed>;
    const after = new Window(record, kept, before.draft);
    after.saver.found({ revision: 2, document: [1] });
    expect(after.saver.saving).toBe("saving");
    await after.saver.now();
    expect([last(record), record.revisions.length, after.met]).toEqual([[1, 2], 3, []]);
  });

  it("lets nothing else write beside it, and keeps what was typed meanwhile", async () => {
    const record = new Record();
    const window = new Window(record);
    window.type(1);
    const written = window.saver.write(async (base) => {
      await new Promise((wake) => setTimeout(wake, 1000));
      return record.put(base, [...last(record), 100]);
    });
    await pass(500);
    window.type(2);
    const early = window.saver.now();
    await pass(600 + SETTLE_MS);
    expect(await early).toBe(false); // what was typed meanwhile was not saved yet
    expect(await written).toBe("saved");
    expect([...last(record)].sort((a, b) => a - b)).toEqual([1, 2, 100]);
    expect(window.saver.saving).toBe("saved");
    record.put(record.revisions.length, [...last(record), 200]);
    expect(await window.saver.write((base) => Promise.resolve(record.put(base, [0])))).toBe("newer");
    await pass(0);
    expect([window.draft.includes(200), last(record).includes(0)]).toEqual([true, false]);
  });

  it("lets those that write wait for one another", async () => {
    const record = new Record();
    const window = new Window(record);
    let most = 0;
    let writing = 0;
    const write = async (base: number): Promise<Outcome<Typed>> => {
      most = Math.max(most, ++writing);
      await new Promise((wake) => setTimeout(wake, 100));
      writing--;
      return record.put(base, [...last(record), base]);
    };
    const kinds = Promise.all([window.saver.write(write), window.saver.write(write), window.saver.write(write)]);
    await pass(1000);
    expect([await kinds, most, last(record)]).toEqual([["saved", "saved", "saved"], 1, [1, 2, 3]]);
  });

  it("writes nothing else while something could not be saved", async () => {
    const record = new Record();
    record.weather = [{ lost: "request" }];
    const window = new Window(record);
    window.type(1);
    const work = vi.fn();
    const asked = window.saver.write(work);
    await pass(10);
    expect(await asked).toBeNull();
    expect(work).not.toHaveBeenCalled();
  });
});
