// The teeth of a case as a whole: which tooth a typed number means, adding and removing one, the units of its bridges. Pure.
import type { CaseDocument, CaseSummary } from "../api/client";
import { bridgesOf } from "./bridge.svelte";
import { newTooth, teethOf, type ToothDraft } from "./edits";

const QUARTER = 8;
const ISO = /^[1-4][1-8]$/;

/** The ISO number that is meant by "45" or "29 universal", or null. */
export function toothMeant(typed: string): number | null {
  const match = /^(\d{1,2})(?: (universal|iso))?$/.exec(typed.trim().toLowerCase());
  if (match === null) return null;
  const digits = Number(match[1]);
  if (match[2] !== "universal") return ISO.test(String(digits)) ? digits : null;
  if (digits < 1 || digits > 4 * QUARTER) return null;
  const quadrant = Math.ceil(digits / QUARTER);
  const along = digits - (quadrant - 1) * QUARTER;
  return quadrant * 10 + (quadrant % 2 === 1 ? QUARTER + 1 - along : along);
}

export const withNewTooth = (draft: CaseDocument, number: number, role: string): CaseDocument => ({
  ...draft,
  teeth: [...teethOf(draft), newTooth(String(number), { role })],
});

export const withoutTooth = (draft: CaseDocument, at: number): CaseDocument => ({
  ...draft,
  teeth: teethOf(draft).filter((_, i) => i !== at),
});

const NO_READING = ["order", "step"];

/** Whether anything was read at a tooth. */
export const hasReadings = (tooth: ToothDraft): boolean => Object.keys(tooth.sites ?? {}).some((key) => !NO_READING.includes(key));

/** The cases of the same code and a tooth of the same number: what a new one may be confused with. */
export const alike = (cases: readonly CaseSummary[], reference: string, teeth: readonly number[]): CaseSummary[] =>
  cases.filter((entry) => entry.reference === reference && entry.teeth.some((number) => teeth.includes(number)));

/** Put the units of one bridge; without any the bridge goes. What else is recorded of it stays, but for beds under no pontic. */
export function withUnits(draft: CaseDocument, at: number, teeth: number[], pontics: number[]): CaseDocument {
  const found = bridgesOf(draft);
  const { beds, ...rest } = found[at] ?? {};
  const kept = beds?.filter((bed) => pontics.includes(bed.tooth)) ?? [];
  const bridge = { ...rest, teeth, pontics, ...(kept.length > 0 ? { beds: kept } : {}) };
  const next = [...found.slice(0, at), ...(teeth.length > 0 ? [bridge] : []), ...found.slice(at + 1)];
  if (next.length > 0) return { ...draft, bridges: next };
  const { bridges: _gone, ...others } = draft;
  return others;
}
