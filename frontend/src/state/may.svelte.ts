// What the user of the open record may do, by the one table of roles, which the server has; nothing while it is locked.
import type { Lock } from "../api/client";

type Act = Lock["may"][number];
let acts = $state.raw<readonly Act[]>([]);

export const may = (act: Act): boolean => acts.includes(act);

/** Take over what the server said of the user. */
export function allow(said: readonly Act[]): void {
  acts = said;
}
