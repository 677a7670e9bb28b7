// Answers of the safety screening inside the case document: pure functions from draft to draft. An answer that was not given is absent.
import type { CaseVisit } from "../api/case";
import type { CaseDocument } from "../api/client";

/** A visit of the case file; answers and marks are reached by the id of their rule. */
export type Visit = CaseVisit & Record<string, unknown>;
type Entries = Record<string, string>;

const visitsOf = (draft: CaseDocument): Visit[] => (draft["visits"] as Visit[] | undefined) ?? [];

/** The visit that answers go into: the last one that the program opened. */
export const openVisit = (draft: CaseDocument): Visit | null => visitsOf(draft).findLast((visit) => visit.opened_at !== undefined) ?? null;

export function answerOf(visit: Visit | null, group: string, rule: string, tooth: number): string | null {
  return answersOf(visit, group, tooth)?.[rule] ?? null;
}

/** The mark of the plan that an answer which speaks of the cut was given for. */
export function givenFor(visit: Visit | null, group: string, rule: string, tooth: number): string | null {
  const marks: Entries | undefined = OF_TOOTH.includes(group) ? toothOf(visit, tooth)?.given_for : visit?.given_for;
  return marks?.[rule] ?? null;
}

/** Put an answer, or take it back with null. `mark`: of the plan it is given for, where the question speaks of the cut. */
export function withAnswer(
  draft: CaseDocument,
  group: string,
  rule: string,
  tooth: number,
  answer: string | null,
  mark: string | null = null,
): CaseDocument {
  return withVisit(draft, (visit) => {
    const answers = withEntry(answersOf(visit, group, tooth), rule, answer);
    const given_for = (before?: Entries): { given_for?: Entries } =>
      mark === null ? {} : { given_for: withEntry(before, rule, answer === null ? null : mark) };
    if (group === "room") return { ...visit, room: answers, ...given_for(visit.given_for) };
    if (!OF_TOOTH.includes(group)) return { ...visit, screening: answers, ...given_for(visit.given_for) };
    const others = (visit.teeth ?? []).filter((one) => one.number !== tooth);
    const mine = toothOf(visit, tooth);
    return { ...visit, teeth: [...others, { ...mine, number: tooth, answers, ...given_for(mine?.given_for) }] };
  });
}

/** The code of who does what, "" where nobody was named. */
export const roleOf = (visit: Visit | null, role: string): string => (visit?.roles as Entries | undefined)?.[role] ?? "";

/** Who does what: a code of the practice, never a name. */
export function withRole(draft: CaseDocument, role: string, code: string): CaseDocument {
  return withVisit(draft, (visit) => {
    return { ...visit, roles: withEntry(visit.roles, role, code === "" ? null : code) };
  });
}

/** The code of who answered a layer, "" where nobody was named. */
export const answeredBy = (visit: Visit | null, layer: string): string => (visit?.answered_by as Entries | undefined)?.[layer] ?? "";

export function withAnsweredBy(draft: CaseDocument, layer: string, code: string): CaseDocument {
  return withVisit(draft, (visit) => {
    return { ...visit, answered_by: withEntry(visit.answered_by, layer, code === "" ? null : code) };
  });
}

export function withContact(draft: CaseDocument, area: number | undefined): CaseDocument {
  return withVisit(draft, (visit) => {
    const next = { ...visit };
    if (area === undefined) delete next.plate_contact_cm2;
    else next.plate_contact_cm2 = area;
    return next;
  });
}

/** One answer for the plate as a whole. */
export const NOT_APPLICABLE = "not applicable";
const OF_TOOTH = ["tooth", "place"];

function answersOf(visit: Visit | null, group: string, tooth: number): Entries | undefined {
  if (OF_TOOTH.includes(group)) return toothOf(visit, tooth)?.answers;
  return group === "room" ? visit?.room : visit?.screening;
}

function toothOf(visit: Visit | null, tooth: number): NonNullable<Visit["teeth"]>[number] | undefined {
  return visit?.teeth?.find((one) => one.number === tooth);
}

function withEntry(table: Entries | undefined, key: string, entry: string | null): Entries {
  const next = { ...table };
  if (entry === null) delete next[key];
  else next[key] = entry;
  return next;
}

function withVisit(draft: CaseDocument, change: (visit: Visit) => Record<string, unknown>): CaseDocument {
  const visits = visitsOf(draft);
  const at = visits.findLastIndex((visit) => visit.opened_at !== undefined);
  return { ...draft, visits: visits.map((visit, i) => (i === at ? change(visit) : visit)) };
}
