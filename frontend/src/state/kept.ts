// What a browser tab keeps of an open case over a reload of the page and a new start of the server.
import type { CaseDocument } from "../api/client";
import type { History } from "./history";
import type { Clash } from "./merge";
import type { Kept } from "./saver";

export interface KeptCase extends Kept<CaseDocument> {
  history: History<CaseDocument>;
  clashes: Clash[];
}

/** Steps to undo that are kept: fewer where the browser has no room for all of them. */
const STEPS = [200, 10, 0] as const;

const keyOf = (caseId: string): string => `collum-case-${caseId}`;

export function keep(caseId: string, kept: KeptCase): void {
  for (const steps of STEPS) {
    const { past, now, future } = kept.history;
    const history = { past: past.slice(Math.max(0, past.length - steps)), now, future: future.slice(0, steps / 4) };
    try {
      sessionStorage.setItem(keyOf(caseId), JSON.stringify({ ...kept, history }));
      return;
    } catch (error) {
      if (!(error instanceof DOMException)) throw error;
    }
  }
}

/** What was kept of a case; null where nothing was, or by a version that kept less. */
export function keptOf(caseId: string): KeptCase | null {
  const kept = JSON.parse(sessionStorage.getItem(keyOf(caseId)) ?? "null") as Partial<KeptCase> | null;
  return kept?.document === undefined ? null : (kept as KeptCase);
}
