// What stands in a cell or a field and was not entered yet: kept at every keystroke, for a page may close at any of them.
export class Typing {
  /** The texts by place: number of the tooth, then what was typed into. */
  #texts = $state.raw<Record<string, string>>({});
  /** Places whose text comes from a page that was closed; nobody has touched them since. */
  #left = $state.raw<readonly string[]>([]);
  readonly #changed: () => void;

  constructor(kept: Record<string, string>, changed: () => void) {
    this.#texts = kept;
    this.#left = Object.keys(kept);
    this.#changed = changed;
  }

  get any(): boolean {
    return Object.keys(this.#texts).length > 0;
  }

  get texts(): Record<string, string> {
    return this.#texts;
  }

  get left(): readonly string[] {
    return this.#left;
  }

  /** Drop all of it: its case is gone. */
  drop(): void {
    this.#texts = {};
    this.#left = [];
    this.#changed();
  }

  /** Note what stands in a place now, null once it was entered or dropped. */
  note(place: string, text: string | null): void {
    const { [place]: before, ...others } = this.#texts;
    if ((before ?? null) === text && !this.#left.includes(place)) return;
    this.#texts = text === null ? others : { ...others, [place]: text };
    this.#left = this.#left.filter((other) => other !== place);
    this.#changed();
  }
}
