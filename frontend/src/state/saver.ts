// Saving one case: one save on its way at a time, and what the record answers. It knows neither the page nor the network.
export type Saving = "saved" | "saving" | "retrying" | "elsewhere" | "faulty";

export interface Held<D> {
  revision: number;
  document: D;
}

/** What came of a save. `takenAs`: the revision that this very save had become before, its answer lost on the way. */
export type Outcome<D> =
  | { kind: "saved"; now: Held<D> }
  | { kind: "newer"; newest: Held<D>; takenAs: number | null }
  | { kind: "faulty" }
  | { kind: "unanswered" };

export interface Host<D> {
  draft(): D;
  same(a: D, b: D): boolean;
  send(base: number, document: D, signal: AbortSignal): Promise<Outcome<D>>;
  /** Bring into the draft what the record holds now; both stem from `from`. `own`: it holds nothing but what was typed here. */
  take(from: D, newest: D, own: boolean): void;
  /** Whether a person has yet to choose between two values of a field. */
  choosing(): boolean;
  tell(saving: Saving): void;
}

/** What has to outlive a reload of the page; `flight` is the save whose end is not known. */
export interface Kept<D> extends Held<D> {
  flight: Held<D> | null;
}

export const SETTLE_MS = 400;
export const RETRY_MS = 2000;
/** A save that has no answer after this time is sent again; the record takes it once. */
export const PATIENCE_MS = 15_000;

export class Saver<D> {
  saving: Saving = "saved";
  /** What the record holds, as far as this window knows. */
  held: Held<D>;
  #flight: Held<D> | null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #work: Promise<void> | null = null;
  readonly #host: Host<D>;

  constructor(host: Host<D>, kept: Kept<D>) {
    this.#host = host;
    this.held = { revision: kept.revision, document: kept.document };
    this.#flight = kept.flight;
    if (this.#unsaved) this.saving = "saving";
  }

  get kept(): Kept<D> {
    return { ...this.held, flight: this.#flight };
  }

  /** The draft was changed: save it once the hand rests. A save whose end is not known goes first. */
  changed(): void {
    if (this.saving === "retrying") return;
    this.#tell(this.#host.choosing() ? "elsewhere" : "saving");
    this.#soon(SETTLE_MS);
  }

  /** Save what is not saved; true once the record holds the draft. */
  now(): Promise<boolean> {
    clearTimeout(this.#timer);
    this.#work ??= this.#run().finally(() => (this.#work = null));
    return this.#work.then(() => this.saving === "saved" && !this.#unsaved);
  }

  /** Take up a newer revision that was met by chance. */
  found(newest: Held<D>): void {
    if (this.#work !== null || this.#flight !== null || newest.revision <= this.held.revision) return;
    this.#take(this.held.document, newest, false);
    void this.now();
  }

  /** Let something else write into the case, on what is saved and with no save beside it; null where nothing could be saved. */
  async write(work: (base: number) => Promise<Outcome<D>>): Promise<Outcome<D>["kind"] | null> {
    do if (!(await this.now())) return null;
    while (this.#work !== null);
    const done = work(this.held.revision).then((outcome) => {
      if (outcome.kind === "saved") this.#take(this.held.document, outcome.now, true);
      if (outcome.kind === "newer") this.#take(this.held.document, outcome.newest, false);
      return outcome.kind;
    });
    const ended = (): void => {
      this.#work = null;
      void this.now();
    };
    this.#work = done.then(ended, ended);
    return done;
  }

  /** Stop: the case was left with everything saved. */
  rest(): void {
    clearTimeout(this.#timer);
  }

  get #unsaved(): boolean {
    return this.#flight !== null || !this.#host.same(this.#host.draft(), this.held.document);
  }

  async #run(): Promise<void> {
    while (this.#unsaved) {
      if (this.#flight === null && this.#host.choosing()) break;
      if (this.#flight === null) {
        this.#flight = { revision: this.held.revision, document: this.#host.draft() };
        this.#tell("saving");
      }
      const { document } = this.#flight;
      const outcome = await this.#sent(this.#flight);
      if (outcome.kind === "unanswered") {
        this.#tell("retrying");
        this.#soon(RETRY_MS);
        return;
      }
      this.#flight = null;
      if (outcome.kind === "saved") this.#take(document, outcome.now, true);
      else if (outcome.kind === "newer") this.#take(outcome.takenAs === null ? this.held.document : document, outcome.newest, false);
      else if (this.#host.same(document, this.#host.draft())) return this.#tell("faulty");
    }
    this.#tell(this.#host.choosing() ? "elsewhere" : "saved");
  }

  async #sent({ revision, document }: Held<D>): Promise<Outcome<D>> {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
    try {
      return await this.#host.send(revision, document, patience.signal);
    } finally {
      clearTimeout(timer);
    }
  }

  #take(from: D, newest: Held<D>, own: boolean): void {
    this.held = { revision: newest.revision, document: newest.document };
    if (!this.#host.same(from, newest.document)) this.#host.take(from, newest.document, own);
  }

  #soon(wait_ms: number): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.now(), wait_ms);
  }

  #tell(saving: Saving): void {
    this.saving = saving;
    this.#host.tell(saving);
  }
}
