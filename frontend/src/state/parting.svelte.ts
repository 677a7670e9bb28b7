// What is said once of a case that was deleted, by the list of cases too.
import type { Deleted } from "../api/client";
import { moment, t } from "../words";
import { onDrop } from "./benches";

class Parting {
  /** The line, until the list is left or the record is locked. */
  said = $state<string | null>(null);
}

export const parting = new Parting();
onDrop(() => (parting.said = null));

/** That a case is gone, and until when backups still hold it. */
export function deletionSaid(reference: string, done: Deleted): string {
  return `${t("screen.delete.done", { reference })} ${heldSaid(done)}`;
}

function heldSaid(done: Deleted): string {
  if (done.held === 0) return t("screen.delete.held_none");
  if (done.held_until === null) return t("screen.delete.held_open", { held: done.held });
  return t("screen.delete.held", { held: done.held, until: moment(done.held_until) });
}
