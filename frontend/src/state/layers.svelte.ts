// The layers of the screening for one operation at one tooth: what is asked in each, what is answered, what is left. Nothing is decided here.
import type { CaseDocument, Layer, Procedure, RoomLine, Safety, SafetyRule } from "../api/client";
import type { Screening } from "./screening.svelte";
import { answerOf, answeredBy, givenFor, NOT_APPLICABLE, openVisit, roleOf, withAnswer } from "./visit";

/** Most questions on one page. */
const A_PAGE = 8;
const TIME_OUT = "time_out";

export interface Asked {
  draft: CaseDocument;
  gate: Safety;
  procedure: Procedure;
  number: number;
}

export class Layers {
  readonly #asked: () => Asked | null;
  readonly #screening: Screening;

  constructor(screening: Screening, asked: () => Asked | null) {
    this.#screening = screening;
    this.#asked = asked;
  }

  readonly visit = $derived.by(() => {
    const asked = this.#asked();
    return asked === null ? null : openVisit(asked.draft);
  });

  /** What the server says about the answers that were given, by rule. */
  readonly #told = $derived.by(() => {
    const gate = this.#asked()?.gate;
    const points = [...(gate?.points ?? []), ...(this.tooth?.points ?? [])];
    return points
      .filter((point) => point.outcome !== "unanswered" && point.answer !== null)
      .map((point) => ({ rule: point.rule, outcome: point.outcome, text: point.text.text, closes: point.closes && point.override === null }));
  });

  told(rule: string): { outcome: string; text: string; closes: boolean } | null {
    return this.#told.find((one) => one.rule === rule) ?? null;
  }

  get tooth(): Safety["teeth"][number] | undefined {
    const asked = this.#asked();
    return asked?.gate.teeth.find((tooth) => tooth.number === asked.number);
  }

  /** The history was asked in full at an earlier visit and is read out at this one. */
  get isReadOut(): boolean {
    const history = this.#asked()?.gate.history;
    return history !== undefined && history.taken_on !== null && !history.in_full;
  }

  /** What is asked in a layer; a part of a question that does not apply is asked only where it was answered all the same. */
  rules(layer: Layer): SafetyRule[] {
    return this.#screening.rules.filter((rule) => rule.layer === layer && this.#isAsked(rule));
  }

  lines(): RoomLine[] {
    const asked = this.rules("room").map((rule) => rule.id);
    return this.#screening.lines.filter((line) => line.rules.some((rule) => asked.includes(rule)));
  }

  /** The questions of a layer page by page, as evenly as may be; the room and a list that is read out are one page. */
  pages(layer: Layer): SafetyRule[][] {
    const rules = this.rules(layer);
    const whole = layer === "room" || (layer === "history" && this.isReadOut);
    const count = whole ? 1 : Math.ceil(rules.length / A_PAGE);
    const length = Math.ceil(rules.length / count);
    return Array.from({ length: count }, (_, page) => rules.slice(page * length, (page + 1) * length));
  }

  /** What was answered for another plan is asked again. */
  isOutdated(rule: SafetyRule): boolean {
    return rule.of_plan && this.given(rule) !== null && givenFor(this.visit, rule.group, rule.id, this.#number) !== this.#asked()?.gate.plan_mark;
  }

  /** What was answered in this visit, whatever plan it was for. */
  given(rule: SafetyRule): string | null {
    return answerOf(this.visit, rule.group, rule.id, this.#number);
  }

  /** An answer that the question does not offer, as older cases have at a part of the plate, is none. */
  answer(rule: SafetyRule): string | null {
    const given = this.isOutdated(rule) ? null : this.given(rule);
    return (rule.answers as string[]).includes(given ?? "") ? given : null;
  }

  /** All parts done, one of them not, or not answered. */
  lineAnswer(line: RoomLine): string | null {
    const parts = this.rules("room").filter((rule) => line.rules.includes(rule.id));
    const given = parts.map((rule) => this.answer(rule));
    if (given.includes("no")) return "no";
    if (given.includes(null)) return null;
    return given.includes(NOT_APPLICABLE) ? NOT_APPLICABLE : "yes";
  }

  /** What is left in a layer: questions, who answered, who does what, the reading out, the time-out. */
  left(layer: Layer): number {
    if (layer === TIME_OUT) return (this.tooth?.time_out ?? null) === null ? 1 : 0;
    if (layer === "history" && this.isReadOut) return this.#asked()?.gate.history.read_out === null ? 1 : 0;
    const unnamed = answeredBy(this.visit, layer) === "" ? 1 : 0;
    const roles = layer === "room" && this.#asked()?.procedure === "current" && this.#screening.roles.some(({ id }) => roleOf(this.visit, id) === "");
    if (layer === "room") return unnamed + (roles ? 1 : 0) + this.lines().filter((line) => this.#isLeft(line)).length;
    return unnamed + this.rules(layer).filter((rule) => this.answer(rule) === null).length;
  }

  get allLeft(): number {
    return this.#screening.layers.reduce((sum, layer) => sum + this.left(layer.id as Layer), 0);
  }

  /** The draft with an answer; of the plate as a whole, its parts are taken back. */
  withAnswer(draft: CaseDocument, rule: SafetyRule, found: string | null): CaseDocument {
    const mark = rule.of_plan ? (this.#asked()?.gate.plan_mark ?? null) : null;
    const parts = found === NOT_APPLICABLE ? this.#screening.rules.filter((part) => part.part_of === rule.id) : [];
    const without = parts.reduce((before, part) => withAnswer(before, part.group, part.id, this.#number, null), draft);
    return withAnswer(without, rule.group, rule.id, this.#number, found, mark);
  }

  /** The draft with all parts of a line done, or taken back; "does not apply" is one answer for the plate as a whole. */
  withLine(draft: CaseDocument, line: RoomLine, found: string | null): CaseDocument {
    const parts = this.#screening.rules.filter((rule) => line.rules.includes(rule.id));
    const [first] = parts;
    if (found === NOT_APPLICABLE && first !== undefined) return this.withAnswer(draft, first, found);
    return parts.reduce((before, rule) => this.withAnswer(before, rule, found), draft);
  }

  get #number(): number {
    return this.#asked()?.number ?? 0;
  }

  #isAsked(rule: SafetyRule): boolean {
    const procedure = this.#asked()?.procedure;
    if (procedure === undefined || rule.outcomes[procedure] === undefined) return false;
    const without = rule.part_of !== null && answerOf(this.visit, rule.group, rule.part_of, this.#number) === NOT_APPLICABLE;
    return !(without && [null, NOT_APPLICABLE].includes(this.given(rule)));
  }

  /** Not answered, or answered against what was said of the plate as a whole. */
  #isLeft(line: RoomLine): boolean {
    const parts = this.rules("room").filter((rule) => line.rules.includes(rule.id));
    return parts.some((rule) => this.answer(rule) === null || this.told(rule.id)?.outcome === "contradicted");
  }
}
