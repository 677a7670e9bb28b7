// The section of the heat that is looked at: asked for once the round is there, again for another side or another band.
import * as api from "../api/client";
import { Asked } from "./asked.svelte";

export type Band = api.HeatSectionRequest["band"];

const EVERY_DEG = 30;

export class HeatSection extends Asked<api.HeatSectionRequest, api.HeatSection | null> {
  /** The side that is asked for; null leaves it to where the organ is warmest that uses most of its limit. */
  station = $state<number | null>(null);
  band = $state<Band>("high");

  constructor() {
    super(async (question, signal) => (await api.heatSection(question, signal)).section);
  }

  /** Ask for the section that belongs to a heat request that was answered with a round. */
  ask(of: api.HeatRequest, round: NonNullable<api.ToothHeat["round"]>): void {
    this.put({ ...of, station_deg: this.station ?? warmest(round), band: this.band }, of.tooth);
  }
}

/** The nearest place with a section to where the organ is warmest that uses most of its limit. */
function warmest({ organs }: NonNullable<api.ToothHeat["round"]>): number {
  const [first] = organs.toSorted((a, b) => b.high - a.high);
  return (Math.round((first?.worst_deg ?? 0) / EVERY_DEG) * EVERY_DEG) % 360;
}
