// The cases of this window that are open, or were left before everything of them was saved.
import { openCase } from "../api/client";
import { keptCases, keptOf } from "./kept";
import { Workbench } from "./workbench.svelte";

/** Left with something unsaved: they go on saving, and are taken up where they are. */
const left = new Map<string, Workbench>();

/** Open a case, or take up the one that was left unsaved. */
export async function benchOf(id: string): Promise<Workbench> {
  const before = left.get(id);
  left.delete(id);
  return before !== undefined && before.unsaved ? before : new Workbench(await openCase(id), await keptOf(id));
}

/** Leave the open case: at rest where all of it is saved. */
export function leave(bench: Workbench | null): void {
  if (bench === null) return;
  if (bench.unsaved) left.set(bench.caseId, bench);
  else bench.rest();
}

/** What else lets go of what it holds of cases when the record is locked. */
const also: (() => void)[] = [];

export function onDrop(forget: () => void): void {
  also.push(forget);
}

/** Let go of every case as it is: the record is being locked. */
export function drop(bench: Workbench | null): void {
  for (const one of also) one();
  for (const one of [...left.values(), ...(bench === null ? [] : [bench])]) one.rest();
  left.clear();
}

/** Go on saving what was typed in cases that are not open, here or in windows that are gone. */
export async function saveKept(open: Workbench | null): Promise<void> {
  for (const id of await keptCases()) {
    if (id !== open?.caseId && !left.has(id)) leave(await benchOf(id).catch(() => null)); // its case may be gone
  }
}

/** The cases that are not open in which something was typed and not entered. */
export const unentered = (): { caseId: string; reference: string }[] =>
  [...left.values()].filter((bench) => bench.typing.any).map(({ caseId, reference }) => ({ caseId, reference }));

/** Closing the window asks while something is not saved, be it still in the cell it is typed into; it is sent meanwhile. */
export function closing(event: BeforeUnloadEvent, open: Workbench | null): void {
  if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
  const unsaved = [...left.values(), ...(open === null ? [] : [open])].filter((bench) => bench.unsaved);
  const inCell = document.querySelector('[aria-invalid="true"]') !== null;
  if (unsaved.length > 0 || inCell) event.preventDefault();
  for (const bench of unsaved) void bench.save();
}
