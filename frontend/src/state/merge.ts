// Two drafts of a case made one: what each changed since they last agreed, field by field. Pure.
import type { CaseDocument } from "../api/client";
import type { History } from "./history";

/** A key of a table, or an item of a list by what tells it from the others. */
export type Step = string | { readonly by: string; readonly is: unknown };

/** A field that both changed, each to something else; undefined where it was taken away. */
export interface Clash {
  readonly path: readonly Step[];
  readonly mine: unknown;
  readonly theirs: unknown;
}

export interface Merged {
  document: CaseDocument;
  clashes: Clash[];
}

type Table = Record<string, unknown>;

/** What tells the items of a list apart, wherever they stand in it. */
const TOLD_BY: Record<string, string> = { teeth: "number", visits: "opened_at", bridges: "teeth", beds: "tooth", furcation: "side", requirements: "id", classified: "entry" };
/** Lists that say of each of their words whether it is so. */
const WORDS = ["bleeding", "missing_walls", "visible_aspects", "drugs", "stops"];
/** Which plan an answer was given for. Where two marks differ none is kept: the answer is asked again. */
const MARKS = "given_for";
/** A reading with its repeats is one field. */
const READINGS = "sites";

const isTable = (found: unknown): found is Table => typeof found === "object" && found !== null && !Array.isArray(found);

/** Whether two values say the same, whatever the order of their keys. */
export function same(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((one, i) => same(one, b[i]));
  if (!isTable(a) || !isTable(b)) return false;
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((key) => key in b && same(a[key], b[key]));
}

/** The draft `mine` with what `theirs` changed since `base`; where both changed a field, mine stands and the clash is named. */
export function merge(base: CaseDocument, mine: CaseDocument, theirs: CaseDocument): Merged {
  const clashes: Clash[] = [];
  return { document: merged(base, mine, theirs, [], clashes) as CaseDocument, clashes };
}

/** The steps of a history over what the record holds now, so that undoing takes back nothing of another window. */
export function rebased(history: History<CaseDocument>, base: CaseDocument, theirs: CaseDocument): { history: History<CaseDocument>; clashes: Clash[] } {
  const over = (draft: CaseDocument): CaseDocument => merge(base, draft, theirs).document;
  const { document, clashes } = merge(base, history.now, theirs);
  return { history: { past: history.past.map(over), now: document, future: history.future.map(over) }, clashes };
}

function merged(base: unknown, mine: unknown, theirs: unknown, path: readonly Step[], clashes: Clash[]): unknown {
  if (same(mine, theirs) || same(theirs, base)) return mine;
  if (same(mine, base)) return theirs;
  const name = path.at(-1);
  if (path.includes(MARKS) && name !== MARKS) return undefined;
  const whole = path.at(-3) === READINGS || (typeof name === "object" && (mine === undefined || theirs === undefined));
  const either = mine ?? theirs;
  if (!whole && isTable(either) && isTable(mine ?? {}) && isTable(theirs ?? {})) {
    return tables(isTable(base) ? base : {}, (mine ?? {}) as Table, (theirs ?? {}) as Table, path, clashes);
  }
  if (typeof name === "string" && Array.isArray(either) && Array.isArray(mine ?? []) && Array.isArray(theirs ?? [])) {
    const [before, here, there] = [Array.isArray(base) ? base : [], (mine ?? []) as unknown[], (theirs ?? []) as unknown[]];
    if (WORDS.includes(name)) return words(before, here, there);
    if (name in TOLD_BY && either.every(isTable)) return items(TOLD_BY[name] ?? "", before as Table[], here as Table[], there as Table[], path, clashes);
  }
  clashes.push({ path, mine, theirs });
  return mine;
}

function tables(base: Table, mine: Table, theirs: Table, path: readonly Step[], clashes: Clash[]): Table | undefined {
  const keys = [...new Set([...Object.keys(theirs), ...Object.keys(mine)])];
  const kept = keys.map((key): [string, unknown] => [key, merged(base[key], mine[key], theirs[key], [...path, key], clashes)]);
  const left = kept.filter(([, found]) => found !== undefined);
  return left.length > 0 ? Object.fromEntries(left) : undefined;
}

function items(by: string, base: Table[], mine: Table[], theirs: Table[], path: readonly Step[], clashes: Clash[]): Table[] {
  const named = (list: Table[]): Map<string, Table> => new Map(list.map((item, i) => [JSON.stringify(item[by] ?? `at ${i}`), item]));
  const [before, here, there] = [named(base), named(mine), named(theirs)];
  const kept = [...new Set([...there.keys(), ...here.keys()])].map((key) => {
    const is = (there.get(key) ?? here.get(key))?.[by];
    return merged(before.get(key), here.get(key), there.get(key), [...path, { by, is }], clashes);
  });
  return kept.filter((item) => item !== undefined) as Table[];
}

function words(base: unknown[], mine: unknown[], theirs: unknown[]): unknown[] {
  const kept = theirs.filter((word) => mine.includes(word) || !base.includes(word));
  return [...kept, ...mine.filter((word) => !base.includes(word) && !theirs.includes(word))];
}

/** The draft with a value at a path; undefined takes away what is there. */
export const withAt = (draft: CaseDocument, path: readonly Step[], value: unknown): CaseDocument => putAt(draft, path, value) as CaseDocument;

function putAt(found: unknown, [step, ...rest]: readonly Step[], value: unknown): unknown {
  if (step === undefined) return value;
  if (typeof step === "string") {
    const { [step]: before, ...others } = (found ?? {}) as Table;
    const next = putAt(before, rest, value);
    return next === undefined ? others : { ...others, [step]: next };
  }
  const list = (found ?? []) as Table[];
  const at = list.findIndex((item) => same(item[step.by], step.is));
  const next = putAt(list[at], rest, value) as Table | undefined;
  const before = at < 0 ? list : list.slice(0, at);
  return [...before, ...(next === undefined ? [] : [next]), ...(at < 0 ? [] : list.slice(at + 1))];
}

/** The place of a path as the case file would name it. */
export function whereOf(draft: CaseDocument, path: readonly Step[]): string {
  let [found, where]: [unknown, string] = [draft, ""];
  for (const step of path) {
    if (typeof step === "string") {
      where = where === "" ? step : `${where}.${step}`;
      found = (found as Table | undefined)?.[step];
    } else {
      const at = ((found ?? []) as Table[]).findIndex((item) => same(item[step.by], step.is));
      where = `${where}[${at}]`;
      found = ((found ?? []) as Table[])[at];
    }
  }
  return where;
}
