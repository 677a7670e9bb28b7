// Undo and redo over whole immutable documents; one entry a gesture.
export interface History<T> {
  readonly past: readonly T[];
  readonly now: T;
  readonly future: readonly T[];
}

const DEEPEST = 200;

export const begin = <T>(now: T): History<T> => ({ past: [], now, future: [] });

/** Put a new state on the history; `sameGesture` replaces the present one instead of adding an entry. */
export function put<T>(history: History<T>, next: T, sameGesture = false): History<T> {
  if (sameGesture) return { ...history, now: next, future: [] };
  return { past: [...history.past, history.now].slice(-DEEPEST), now: next, future: [] };
}

export function undo<T>(history: History<T>): History<T> {
  const last = history.past.at(-1);
  if (last === undefined) return history;
  return { past: history.past.slice(0, -1), now: last, future: [history.now, ...history.future] };
}

export function redo<T>(history: History<T>): History<T> {
  const [next, ...future] = history.future;
  if (next === undefined) return history;
  return { past: [...history.past, history.now], now: next, future };
}
