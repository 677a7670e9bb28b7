// Edits of a case document: pure functions from draft to draft. Paths are those of the case file.
import { STEP_LEFT_OUT, type CaseTooth } from "../api/case";
import type { CaseDocument } from "../api/client";
import { offStep, ownStep, type Entry } from "./entry";

/** A tooth as the server writes it: with its ISO number; reached by paths of the case file too. */
export type ToothDraft = CaseTooth & { number: number; sites?: Record<string, unknown> } & Record<string, unknown>;

export const teethOf = (draft: CaseDocument): ToothDraft[] => draft["teeth"] as ToothDraft[];

function withTooth(draft: CaseDocument, at: number, change: (tooth: ToothDraft) => ToothDraft): CaseDocument {
  return { ...draft, teeth: teethOf(draft).map((tooth, i) => (i === at ? change(tooth) : tooth)) };
}

/** Measures that stand beside the readings in the file: one number a site, without repeats. */
export const BESIDE: readonly string[] = ["fracture_depth_mm", "restoration_margin_mm", "wished_margin_mm"];

export function entryAt(tooth: ToothDraft, kind: string, site: string): Entry | undefined {
  const bySite = (BESIDE.includes(kind) ? tooth[kind] : tooth.sites?.[kind]) as Record<string, Entry> | undefined;
  return bySite?.[site];
}

export function withEntry(
  draft: CaseDocument,
  at: number,
  kind: string,
  site: string,
  entry: Entry | undefined,
): CaseDocument {
  if (BESIDE.includes(kind)) return withBeside(draft, at, kind, site, entry);
  return withTooth(draft, at, (tooth) => {
    const sites = tooth.sites ?? { order: [] };
    const bySite = { ...((sites[kind] as Record<string, Entry> | undefined) ?? {}) };
    if (entry === undefined) delete bySite[site];
    else bySite[site] = entry;
    const next: ToothDraft["sites"] = { ...sites, [kind]: bySite };
    if (Object.keys(bySite).length === 0) delete next[kind];
    return { ...tooth, sites: next };
  });
}

/** The step most probes allow to read. [mm] */
const USUAL_STEP = 0.5;

/** The step to which a kind is read, unless a reading has its own. [mm] */
export function stepAt(tooth: ToothDraft | undefined, kind: string): number {
  const step = tooth?.sites?.step;
  return (typeof step === "object" ? (step as Record<string, number>)[kind] : step) ?? STEP_LEFT_OUT;
}

/** The one step of the whole table; "by kind" where the kinds differ, undefined where none was stated. */
export function stepOf(tooth: ToothDraft | undefined): number | "by kind" | undefined {
  const step = tooth?.sites?.step;
  if (typeof step !== "object") return step;
  const found = new Set(Object.values(step));
  return found.size === 1 ? [...found][0] : "by kind";
}

/** The sites a tooth is usually read at, and all that have a name, once round the neck. */
export const USUAL_SITES = ["F", "MF", "ML", "L", "DL", "DF"] as const;
export const NAMED_SITES = ["F", "MF", "M", "ML", "L", "DL", "D", "DF"] as const;

/** Read the tooth at further sites too, at their places round the neck; a tooth without any gets the usual step with its first. */
export function withSites(draft: CaseDocument, at: number, added: readonly string[]): CaseDocument {
  return withTooth(draft, at, (tooth) => {
    const before = tooth.sites?.order ?? [];
    const named: readonly string[] = NAMED_SITES;
    const inOrder = named.filter((site) => before.includes(site) || added.includes(site));
    const order = before.every((site) => named.includes(site)) ? inOrder : [...before, ...added];
    return { ...tooth, sites: before.length > 0 ? { ...tooth.sites, order } : { step: USUAL_STEP, ...tooth.sites, order } };
  });
}

/** State the step of the whole table; a reading that lies between its marks keeps the step it was read to. */
export function withStep(draft: CaseDocument, at: number, step: number): CaseDocument {
  return withTooth(draft, at, (tooth) => {
    const { order, step: _before, ...kinds } = tooth.sites ?? { order: [] };
    const kept = Object.entries(kinds).map(([kind, bySite]): [string, unknown] => {
      const entries = Object.entries(bySite as Record<string, Entry>);
      return [kind, Object.fromEntries(entries.map(([site, entry]) => [site, offStep(entry, step) === null ? entry : ownStep(entry, step)]))];
    });
    return { ...tooth, sites: { order, step, ...Object.fromEntries(kept) } };
  });
}

export function withBleeding(draft: CaseDocument, at: number, site: string, bleeds: boolean): CaseDocument {
  return withTooth(draft, at, (tooth) => {
    const others = (tooth.bleeding ?? []).filter((s) => s !== site);
    return { ...tooth, bleeding: bleeds ? [...others, site] : others };
  });
}

/** Set or clear what is said of a site beside its readings: bone ledge, metal, depth of a fracture, its own state. */
export function withBeside(draft: CaseDocument, at: number, key: string, site: string, value: unknown): CaseDocument {
  return withPath(draft, at, `${key}.${site}`, value);
}

export type Furcation = NonNullable<CaseTooth["furcation"]>[number];

/** Set the grade of one furcation, or take it away; a scale that was named before stays. */
export function withFurcation(draft: CaseDocument, at: number, side: Furcation["side"], grade: number | undefined, scale: string): CaseDocument {
  return withTooth(draft, at, ({ furcation, ...tooth }) => {
    const found = furcation ?? [];
    const others = found.filter((one) => one.side !== side);
    const named = found.find((one) => one.side === side)?.scale ?? scale;
    const next = grade === undefined ? others : [...others, { side, grade, scale: named }];
    return next.length > 0 ? { ...tooth, furcation: next } : tooth;
  });
}

export type HeldLine = keyof NonNullable<CaseTooth["held"]>;

/** Hold a place of a line: its height from the present margin. [mm] */
export function withHold(draft: CaseDocument, at: number, line: HeldLine, site: string, fromMargin: number): CaseDocument {
  return withTooth(draft, at, (tooth) => ({
    ...tooth,
    held: { ...tooth.held, [line]: { ...tooth.held?.[line], [site]: fromMargin } },
  }));
}

/** Let go of one held place, or of all of them when no site is named. */
export function withoutHold(draft: CaseDocument, at: number, line?: HeldLine, site?: string): CaseDocument {
  return withTooth(draft, at, (tooth) => {
    const { held, ...others } = tooth;
    const rest: ToothDraft = others;
    if (line === undefined || site === undefined || held === undefined) return rest;
    const left = { ...held[line] };
    delete left[site];
    const { [line]: _gone, ...other } = held;
    const kept = Object.keys(left).length > 0 ? { ...other, [line]: left } : other;
    return Object.keys(kept).length > 0 ? { ...rest, held: kept } : rest;
  });
}

export function withField(draft: CaseDocument, at: number, key: string, value: unknown): CaseDocument {
  return withTooth(draft, at, (tooth) => ({ ...tooth, [key]: value }));
}

type Table = Record<string, unknown>;

/** Put a value at a dotted path inside a tooth, making tables on the way; undefined takes the key away, and tables left empty with it. */
export function withPath(draft: CaseDocument, at: number, path: string, value: unknown): CaseDocument {
  return withTooth(draft, at, (tooth) => put(tooth, path.split("."), value) as ToothDraft);
}

/** The word at a path, "" where there is none. */
export function wordAt(table: Table | undefined, path: string): string {
  const found = pathOf(table, path);
  return typeof found === "string" || typeof found === "boolean" ? String(found) : "";
}

export function pathOf(table: Table | undefined, path: string): unknown {
  return path.split(".").reduce<unknown>((found, key) => (found as Table | undefined)?.[key], table);
}

/** Put a value at a dotted path of the patient; undefined takes it away. */
export const withPatient = (draft: CaseDocument, path: string, value: unknown): CaseDocument => ({
  ...draft,
  patient: put(draft["patient"] as Table, path.split("."), value),
});

/** A new case of one tooth with nothing read yet. */
export const newCase = (reference: string, number: string): CaseDocument => ({
  format: "collum-case/3",
  patient: { reference },
  teeth: [newTooth(number)],
});

/** A tooth as it is first entered: the six usual sites, the usual step, nothing read and nothing stated. */
export function newTooth(number: string, stated: Table = {}): Table {
  const typed = /^\d+$/.test(number) ? Number(number) : number;
  return { number: typed, ...stated, sites: { order: [...USUAL_SITES], step: USUAL_STEP } };
}

/** Put a value at a path of a table; undefined takes it away, and tables left empty with it. */
export function put(table: Table, [key, ...rest]: string[], value: unknown): Table {
  if (key === undefined) return table;
  const next = { ...table };
  const below = rest.length === 0 ? value : put((table[key] as Table | undefined) ?? {}, rest, value);
  if (below === undefined || (rest.length > 0 && Object.keys(below as Table).length === 0)) delete next[key];
  else next[key] = below;
  return next;
}
