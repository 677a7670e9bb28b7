// Whether the bridges of the draft will hold, and the edits of their wishes. Nothing is computed here.
import type { CaseBridge } from "../api/case";
import * as api from "../api/client";
import { Asked } from "./asked.svelte";
import { put } from "./edits";
import { schema } from "./form";

export class Bridges extends Asked<api.BridgesRequest, api.BridgesDocument> {
  constructor() {
    super(api.judgeBridges);
  }

  ask(document: api.CaseDocument): void {
    this.put({ document, wishes: {} }, "bridges");
  }
}

export type BridgeDraft = CaseBridge & Record<string, unknown>;
type Bed = NonNullable<CaseBridge["beds"]>[number];

export const bridgesOf = (draft: api.CaseDocument): BridgeDraft[] => (draft["bridges"] as BridgeDraft[] | undefined) ?? [];

/** Put a wish of a bridge; undefined takes it away. */
export function withWish(draft: api.CaseDocument, at: number, key: string, value: unknown): api.CaseDocument {
  return { ...draft, bridges: bridgesOf(draft).map((bridge, i) => (i === at ? put(bridge, [key], value) : bridge)) };
}

/** Put what was read under a pontic, at a path of its bed; a bed that says nothing goes away. */
export function withBed(draft: api.CaseDocument, at: number, tooth: number, path: string, value: unknown): api.CaseDocument {
  const beds = bridgesOf(draft)[at]?.beds ?? [];
  const bed = put({ ...beds.find((one) => one.tooth === tooth), tooth }, path.split("."), value) as unknown as Bed;
  const others = beds.filter((one) => one.tooth !== tooth);
  const next = Object.keys(bed).length > 1 ? [...others, bed] : others;
  return withWish(draft, at, "beds", next.length > 0 ? next : undefined);
}

export interface Limits {
  low: number;
  high: number;
}
type Shape = { minimum?: number; maximum?: number; enum?: string[]; properties?: Record<string, Shape>; items?: Shape; anyOf?: Shape[] };

/** What a key of a bridge may hold, by the case schema: limits of a number, words of a choice. */
export async function wishShape(path: string): Promise<{ limits: Limits; words: string[] }> {
  const whole = (await schema()) as Shape;
  const found = path.split(".").reduce<Shape | undefined>((at, key) => (at?.items ?? at)?.properties?.[key], whole.properties?.["bridges"]);
  const number = [found, ...(found?.anyOf ?? [])].find((one) => one?.minimum !== undefined);
  return { limits: { low: number?.minimum ?? 0, high: number?.maximum ?? 0 }, words: found?.enum ?? [] };
}
