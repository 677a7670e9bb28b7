// Answers of the safety screening inside the case document: pure functions from draft to draft. An answer that was not given is absent.
import type { CaseDocument } from "../api/client";

export interface Visit {
  opened_at?: string;
  screening?: Record<string, string>;
  teeth?: { number: number; answers: Record<string, string> }[];
  room?: Record<string, string>;
  roles?: Record<string, string>;
  plate_contact_cm2?: number;
  [key: string]: unknown;
}

const visitsOf = (draft: CaseDocument): Visit[] => (draft["visits"] as Visit[] | undefined) ?? [];

/** The visit that answers go into: the last one that the program opened. */
export const openVisit = (draft: CaseDocument): Visit | null => visitsOf(draft).findLast((visit) => visit.opened_at !== undefined) ?? null;

export function answerOf(visit: Visit | null, group: string, rule: string, tooth: number): string | null {
  return answersOf(visit, group, tooth)?.[rule] ?? null;
}

/** Put an answer, or take it back with null. */
export function withAnswer(draft: CaseDocument, group: string, rule: string, tooth: number, answer: string | null): CaseDocument {
  return withVisit(draft, (visit) => {
    const answers = { ...answersOf(visit, group, tooth) };
    if (answer === null) delete answers[rule];
    else answers[rule] = answer;
    if (group === "room") return { ...visit, room: answers };
    if (group === "patient" || group === "drugs") return { ...visit, screening: answers };
    const others = (visit.teeth ?? []).filter((one) => one.number !== tooth);
    return { ...visit, teeth: [...others, { number: tooth, answers }] };
  });
}

/** Who does what: a code of the practice, never a name. */
export function withRole(draft: CaseDocument, role: string, code: string): CaseDocument {
  return withVisit(draft, (visit) => {
    const roles = { ...visit.roles };
    if (code === "") delete roles[role];
    else roles[role] = code;
    return { ...visit, roles };
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

function answersOf(visit: Visit | null, group: string, tooth: number): Record<string, string> | undefined {
  if (group === "room") return visit?.room;
  if (group === "patient" || group === "drugs") return visit?.screening;
  return visit?.teeth?.find((one) => one.number === tooth)?.answers;
}

function withVisit(draft: CaseDocument, change: (visit: Visit) => Visit): CaseDocument {
  const visits = visitsOf(draft);
  const at = visits.findLastIndex((visit) => visit.opened_at !== undefined);
  return { ...draft, visits: visits.map((visit, i) => (i === at ? change(visit) : visit)) };
}
