// What the list of cases says once of a case that is gone from it.
import { onDrop } from "./benches";

class Parting {
  /** The line, until the list is left or the record is locked. */
  said = $state<string | null>(null);
}

export const parting = new Parting();
onDrop(() => (parting.said = null));
