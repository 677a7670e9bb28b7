// What the record names of the patient and no save takes out: it leaves by name and reason alone. Which entries these are the server decides. Pure.
import type { CaseDocument, Problem } from "../api/client";
import type { History } from "./history";

const FIELDS = ["stops", "drugs", "history"] as const;

type Table = Record<string, unknown>;

export interface Recorded {
  readonly field: (typeof FIELDS)[number];
  readonly entry: string;
}

export const listed = (draft: CaseDocument, field: Recorded["field"]): string[] =>
  namesIn(((draft["patient"] as Table | undefined) ?? {})[field]);

/** The words of a list, or the facts of the history by their ids. */
const namesIn = (found: unknown): string[] => (Array.isArray(found) ? (found as string[]) : Object.keys((found as Table | undefined) ?? {}));

/** The entries for which a save was refused: `sent` dropped them from what the record `held`. */
export function refusedOf(errors: Problem["errors"], sent: CaseDocument, held: CaseDocument): Recorded[] {
  return FIELDS.flatMap((field) => {
    const values = errors.filter(({ where }) => where === `patient.${field}`).map(({ value }) => value ?? "");
    const dropped = listed(held, field).filter((entry) => !listed(sent, field).includes(entry));
    return dropped.filter((entry) => values.some((value) => shows(value, entry))).map((entry) => ({ field, entry }));
  });
}

/** Every step of a history with the entries in it, where the record `held` them, so that no undoing drops them again. */
export function withBack(history: History<CaseDocument>, entries: readonly Recorded[], held: CaseDocument): History<CaseDocument> {
  const back = (draft: CaseDocument): CaseDocument => FIELDS.reduce((found, field) => withField(found, field, entries, held), draft);
  return { past: history.past.map(back), now: back(history.now), future: history.future.map(back) };
}

function withField(draft: CaseDocument, field: Recorded["field"], entries: readonly Recorded[], held: CaseDocument): CaseDocument {
  const before = listed(draft, field);
  const missing = entries.filter((one) => one.field === field && !before.includes(one.entry)).map(({ entry }) => entry);
  if (missing.length === 0) return draft;
  if (field === "history") return withHistory(draft, missing, held);
  const recorded = listed(held, field);
  const kept = recorded.filter((entry) => before.includes(entry) || missing.includes(entry));
  return { ...draft, patient: { ...(draft["patient"] as object), [field]: [...kept, ...before.filter((entry) => !recorded.includes(entry))] } };
}

function withHistory(draft: CaseDocument, missing: readonly string[], held: CaseDocument): CaseDocument {
  const [patient, before] = [draft["patient"] as Table, (held["patient"] as Table)["history"] as Table];
  const back = Object.fromEntries(missing.map((fact) => [fact, before[fact]]));
  return { ...draft, patient: { ...patient, history: { ...(patient["history"] as Table | undefined), ...back } } };
}

/** Whether a value of the error shape is an entry: as JSON spells it, shortened, with "?" for a sign that no line can show. */
function shows(value: string, entry: string): boolean {
  const spelt = [...JSON.stringify(entry)];
  return value !== "" && [...value].every((sign, i) => sign === spelt[i] || sign === "?");
}
