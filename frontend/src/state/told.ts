// What went wrong with something that was asked of the server, in the words of the screen. Pure.
import { Refused } from "../api/client";
import { t } from "../words";
import type { ToothDraft } from "./edits";
import { placeOf } from "./place";

/** What a place in a request is, where a person has filled it in; elsewhere the place says nothing to anybody. */
const OF_CASE = /^(?:document\.)?(?:teeth|patient|visits|bridges)\b/;

/** One line for each fault; one that the server did not answer, and nothing else, is told as that. */
export function toldOf(error: unknown, teeth: readonly ToothDraft[] = []): string[] {
  if (!(error instanceof Refused)) {
    if (error instanceof TypeError) return [t("screen.fault.away")];
    throw error;
  }
  const lines = error.problem?.errors.map(({ where, page }) => (OF_CASE.test(where) ? t("screen.fault.line", { place: placeOf(where, teeth).text, what: page }) : page));
  return lines ?? [error.message];
}
