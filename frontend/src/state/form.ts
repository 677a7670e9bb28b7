// The findings as a form: which fields stand together, when a field is asked, and what the case schema lets it hold.
import { caseSchema, type CaseDocument } from "../api/client";
import type { Range } from "../scale/usual";
import { withFact, type FactId } from "./patient";
import { pathOf, teethOf, withPath, withPatient, type ToothDraft } from "./edits";

export interface Field {
  /** The path in the case file, inside the tooth; inside the patient where it begins with `patient.` */
  path: string;
  /** What has to stand beside it for the file to be taken, and goes away with it. */
  whole?: string;
  beside?: { path: string; value: string };
  asked?: (tooth: ToothDraft) => boolean;
  /** The table of the catalogue that names its words, where they have names already. */
  words?: string;
  /** What is offered to choose from, where the schema lets anything of a kind stand in a list. */
  choices?: readonly string[];
}

export interface Shape {
  kind: "words" | "flag" | "amount" | "date" | "several" | "list" | "text";
  words: readonly string[];
  /** What it is taken as where nothing is stated. */
  taken?: string;
  low?: number;
  high?: number;
}

const isFront = (tooth: ToothDraft): boolean => tooth.number % 10 <= 3;
const isBack = (tooth: ToothDraft): boolean => !isFront(tooth);
export const hasFurcation = (tooth: ToothDraft): boolean => tooth.number % 10 >= 6 || [14, 24].includes(tooth.number);
const overgrown = (tooth: ToothDraft): boolean =>
  tooth["state"] === "overgrown" || Object.values((tooth["site_state"] as object | undefined) ?? {}).includes("overgrown");
const SITES = ["F", "MF", "M", "ML", "L", "DL", "D", "DF"];
const rootFilled = (tooth: ToothDraft): boolean => tooth["vital"] !== true;

export const GROUPS: readonly { name: string; fields: readonly Field[] }[] = [
  {
    name: "tissue",
    fields: [
      { path: "state" },
      { path: "overgrowth.cause", whole: "overgrowth", asked: overgrown },
      { path: "overgrowth.controlled_since", asked: (tooth) => overgrown(tooth) && pathOf(tooth, "overgrowth.cause") !== undefined },
      { path: "patient.phenotype" },
      { path: "plaque_percent" },
      { path: "bleeding_percent" },
      { path: "hygiene_phase.ended_on", whole: "hygiene_phase" },
      { path: "hygiene_phase.read_on", asked: (tooth) => pathOf(tooth, "hygiene_phase.ended_on") !== undefined },
      { path: "patient.hygiene" },
      { path: "shallow_vestibule" },
      { path: "frenum" },
      { path: "scar" },
    ],
  },
  {
    name: "tooth",
    fields: [
      { path: "role" },
      { path: "sound_measured" },
      { path: "caries_restorable" },
      { path: "vital" },
      { path: "pulp_test" },
      { path: "apical_state" },
      { path: "root_filling.quality", asked: rootFilled },
      { path: "root_filling.sound_length_mm", asked: rootFilled },
      { path: "root_filling.date", asked: rootFilled },
      { path: "canal.filling_short_mm", asked: rootFilled },
      { path: "canal.filling_over", asked: rootFilled },
      { path: "canal.filling_voids", asked: rootFilled },
      { path: "canal.symptoms", asked: rootFilled },
      { path: "canal.sinus_tract", asked: rootFilled },
      { path: "canal.open_to_saliva_months", asked: rootFilled },
      { path: "canal.lesion_mm", asked: rootFilled },
      { path: "canal.cleared_on", asked: rootFilled },
      { path: "core.present" },
      { path: "core.planned" },
      { path: "core.top_mm", asked: (tooth) => pathOf(tooth, "core.present") === true || pathOf(tooth, "core.planned") === true },
      { path: "missing_walls", choices: SITES },
      { path: "neck_width_mm.facial_oral" },
      { path: "neck_width_mm.mesiodistal" },
      { path: "pulp_width_mm.facial_oral" },
      { path: "pulp_width_mm.mesiodistal" },
      { path: "cracks" },
      { path: "pain_on_release" },
      { path: "vertical_root_fracture" },
      { path: "perforation" },
      { path: "perforation_restorable", asked: (tooth) => tooth["perforation"] === true },
    ],
  },
  {
    name: "root",
    fields: [
      { path: "root.length_mm" },
      { path: "root.trunk_mm", asked: hasFurcation },
      { path: "mobility.grade", whole: "mobility", beside: { path: "mobility.scale", value: "Miller" } },
      { path: "mobility_rising" },
      { path: "attachment_loss_mm" },
      { path: "ankylosis" },
      { path: "anchorage" },
      { path: "strategic_value" },
    ],
  },
  {
    name: "beside",
    fields: [
      { path: "contact.mesial" },
      { path: "contact.distal" },
      { path: "contact_point_mm.mesial" },
      { path: "contact_point_mm.distal" },
      { path: "proximal_crest_from_film_mm.mesial" },
      { path: "proximal_crest_from_film_mm.distal" },
      { path: "implant_beside" },
      { path: "dam_and_matrix", asked: isBack },
      { path: "dentine_seat_mm.mesial", asked: isBack },
      { path: "dentine_seat_mm.distal", asked: isBack },
    ],
  },
  {
    name: "crown",
    fields: [
      { path: "restoration.kind" },
      { path: "restoration.finish.position", whole: "restoration.finish" },
      { path: "restoration.finish.mm", asked: (tooth) => pathOf(tooth, "restoration.finish.position") !== undefined },
      { path: "restoration.visible_zone" },
      { path: "visible_aspects", asked: (tooth) => pathOf(tooth, "restoration.visible_zone") === true },
      { path: "mirror_margin_mm", asked: (tooth) => isFront(tooth) || pathOf(tooth, "restoration.visible_zone") === true },
      { path: "mirror_healthy", asked: (tooth) => pathOf(tooth, "mirror_margin_mm") !== undefined },
      { path: "mirror_above_cej_mm", asked: (tooth) => pathOf(tooth, "mirror_margin_mm") !== undefined },
      { path: "two_operations_accepted" },
      { path: "cut_by" },
      { path: "restoration.occlusal_reduction_mm" },
      { path: "restoration.axial_reduction_mm" },
      { path: "restoration.convergence_deg" },
      { path: "restoration.planned_edge_mm" },
      { path: "edge_is_level" },
      { path: "interocclusal_space_mm" },
      { path: "opposing" },
      { path: "opposing_over_erupted_mm" },
      { path: "bite_raise_mm" },
      { path: "guidance" },
    ],
  },
  {
    name: "old_crown",
    fields: [
      { path: "old_crown.failures" },
      { path: "old_crown.reason" },
      { path: "old_stump.height_mm" },
      { path: "old_stump.convergence_deg" },
      { path: "old_stump.ferrule_mm" },
      { path: "old_stump.caries" },
      { path: "old_stump.cement", words: "restoration.cement" },
      { path: "old_stump.post" },
      { path: "old_stump.post_mm", asked: (tooth) => pathOf(tooth, "old_stump.post") === true },
    ],
  },
  {
    name: "patient",
    fields: [
      { path: "patient.age_band" },
      { path: "patient.growing" },
      { path: "patient.smoking" },
      { path: "patient.bruxism" },
      { path: "patient.smile_line" },
      { path: "access" },
    ],
  },
  {
    name: "told",
    fields: [
      { path: "patient.drugs" },
      { path: "patient.stops" },
      { path: "patient.wish" },
      { path: "note" },
    ],
  },
];

export const fieldAt = (path: string): Field => GROUPS.flatMap((group) => group.fields).find((field) => field.path === path) ?? { path };

type Json = { properties?: Record<string, Json>; items?: Json; anyOf?: Json[]; enum?: string[]; type?: string; format?: string } & Record<string, unknown>;
let asked: Promise<Json> | undefined;

/** The schema of a case, asked for once. */
export const schema = (): Promise<Json> => (asked ??= caseSchema() as Promise<Json>);

/** What a path may hold, by the case schema; null where the schema does not know it. */
export function shapeOf(known: Json, path: string): Shape | null {
  const inside = path.startsWith("patient.") ? known.properties?.["patient"] : known.properties?.["teeth"]?.items;
  const found = path.replace(/^patient\./, "").split(".").reduce<Json | undefined>((at, key) => at?.properties?.[key], inside);
  if (found === undefined) return null;
  if (found.enum) return { kind: "words", words: found.enum, ...(typeof found["default"] === "string" ? { taken: found["default"] } : {}) };
  if (found.type === "boolean") return { kind: "flag", words: [] };
  if (found.format === "date") return { kind: "date", words: [] };
  if (found.type === "array") return found.items?.enum ? { kind: "several", words: found.items.enum } : { kind: "list", words: [] };
  if (found.type === "integer") return { kind: "words", words: whole(found) };
  if (found.type === "number") return { kind: "amount", words: [], low: Number(found["minimum"]), high: Number(found["maximum"]) };
  return { kind: "text", words: [] };
}

/** The range in which the case file takes a kind of reading. [mm] */
export function rangeOf(known: Json, kind: string): Range | null {
  const tooth = known.properties?.["teeth"]?.items?.properties;
  const found = numberIn(tooth?.["sites"]?.properties?.[kind] ?? tooth?.[kind]);
  return found && { low: Number(found["minimum"]), high: Number(found["maximum"]) };
}

/** The shape of a bare number inside a shape that takes other forms too. */
function numberIn(found: Json | undefined): Json | null {
  if (found?.type === "number") return found;
  const below = [...(found?.anyOf ?? []), ...Object.values((found?.["patternProperties"] as Record<string, Json> | undefined) ?? {})];
  return below.reduce<Json | null>((number, one) => number ?? numberIn(one), null);
}

const whole = (found: Json): string[] => {
  const low = Number(found["minimum"]);
  return Array.from({ length: Number(found["maximum"]) - low + 1 }, (_, i) => String(low + i));
};

export function valueAt(draft: CaseDocument, tooth: ToothDraft, path: string): unknown {
  return path.startsWith("patient.") ? pathOf(draft["patient"] as Record<string, unknown>, path.slice(8)) : pathOf(tooth, path);
}

/** Put a value into a field; undefined takes it away, with what only stands beside it. */
export function withValue(draft: CaseDocument, at: number, field: Field, value: unknown): CaseDocument {
  if (field.path.startsWith("patient.history.")) {
    const [, , fact, stated] = field.path.split(".");
    return withFact(draft, fact as FactId, stated, value);
  }
  if (field.path.startsWith("patient.")) return withPatient(draft, field.path.slice(8), value);
  if (value === undefined) return withPath(draft, at, field.whole ?? field.path, undefined);
  const next = withPath(draft, at, field.path, value);
  const cleared = field.path === "state" && value !== "overgrown" ? withPath(next, at, "overgrowth", undefined) : next;
  const { beside } = field;
  if (beside === undefined || pathOf(teethOf(cleared)[at], beside.path) !== undefined) return cleared;
  return withPath(cleared, at, beside.path, beside.value);
}
