// Where handles stand on the strip: at the sites, and half-way where the sites are six or fewer.
import type { ToothPlan } from "../api/client";

export interface Handle {
  site: string;
  station: number;
  station_deg: number;
  heldCut: boolean;
  heldFinish: boolean;
}

type Held = { cut?: Record<string, number>; finish?: Record<string, number> } | undefined;

export function handlesOf(tooth: Pick<ToothPlan, "sites" | "sites_deg" | "stations_deg">, held: Held): Handle[] {
  const spots = tooth.sites.map((site, i) => ({ site, deg: tooth.sites_deg[i] ?? 0 }));
  const sorted = [...spots].sort((a, b) => a.deg - b.deg);
  if (sorted.length > 1 && sorted.length <= 6) {
    sorted.forEach(({ deg }, i) => {
      const next = sorted[(i + 1) % sorted.length]?.deg ?? 0;
      const between = (deg + ((next - deg + 360) % 360) / 2) % 360;
      spots.push({ site: String(Math.round(between)), deg: Math.round(between) });
    });
  }
  const step = 360 / tooth.stations_deg.length;
  return spots.map(({ site, deg }) => {
    const station = Math.round(deg / step) % tooth.stations_deg.length;
    return {
      site,
      station,
      station_deg: tooth.stations_deg[station] ?? 0,
      heldCut: held?.cut?.[site] !== undefined,
      heldFinish: held?.finish?.[site] !== undefined,
    };
  });
}

/** A height moved by tenths of a millimetre with the keys. */
export const stepped = (height: number, tenths: number): number => Math.round(height * 10 + tenths) / 10;

/** The typed site nearest to a station. */
export function siteNear(tooth: Pick<ToothPlan, "sites" | "sites_deg" | "stations_deg">, station: number): number {
  const deg = tooth.stations_deg[station] ?? 0;
  const away = (d: number): number => Math.abs(((d - deg + 540) % 360) - 180);
  return tooth.sites_deg.reduce((best, d, i) => (away(d) < away(tooth.sites_deg[best] ?? 0) ? i : best), 0);
}
