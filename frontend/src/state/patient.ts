// The medical history of a case: which facts there are, what may be stated of each, and edits from draft to draft. Pure.
import type { CasePatient } from "../api/case";
import type { CaseDocument } from "../api/client";

export type FactId = keyof NonNullable<CasePatient["history"]>;
export interface Answer {
  by: string;
  date: string;
  agrees: boolean;
}
type Table = Record<string, unknown>;
type Json = { properties?: Record<string, Json> } & Record<string, unknown>;

const patientOf = (draft: CaseDocument): CasePatient => draft["patient"] as CasePatient;

/** The facts that hold, in the order of the schema. */
export const factsOf = (draft: CaseDocument): FactId[] => Object.keys(patientOf(draft).history ?? {}) as FactId[];

const inPatient = (known: Json, path: readonly string[]): Json | undefined =>
  ["patient", ...path].reduce<Json | undefined>((at, key) => at?.properties?.[key], known);

/** Every fact that may be added. */
export const allFacts = (known: Json): FactId[] => Object.keys(inPatient(known, ["history"])?.properties ?? {}) as FactId[];

/** What may be stated of a fact, the answer of a physician apart. */
export const fieldsOf = (known: Json, fact: FactId): string[] =>
  Object.keys(inPatient(known, ["history", fact])?.properties ?? {}).filter((field) => field !== "answer");

export const mayBeAnswered = (known: Json, fact: FactId): boolean => inPatient(known, ["history", fact])?.properties?.["answer"] !== undefined;

/** State a fact, or something of it; a fact of which nothing is stated stays. */
export function withFact(draft: CaseDocument, fact: FactId, field?: string, value?: unknown): CaseDocument {
  const patient = patientOf(draft);
  const stated: Table = { ...((patient.history?.[fact] as Table | undefined) ?? {}) };
  if (field !== undefined && value === undefined) delete stated[field];
  else if (field !== undefined) stated[field] = value;
  return { ...draft, patient: { ...patient, history: { ...patient.history, [fact]: stated } } };
}

/** Say what a recorded drug is, by name. */
export function withClassified(draft: CaseDocument, entry: string, as_fact: string, by: string, date: string): CaseDocument {
  const patient = patientOf(draft);
  const others = (patient.classified ?? []).filter((one) => one.entry !== entry);
  return { ...draft, patient: { ...patient, classified: [...others, { entry, as_fact, by, date }] } };
}
