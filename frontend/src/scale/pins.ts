// The tooth cut across at its finish line, with pins in it, as places in pixels.
import type { Facing } from "./ring";
import type { RouteRestoration } from "../api/client";

export interface Widths {
  facial_oral?: number;
  mesiodistal?: number;
}

export interface Across {
  tooth: { rx: number; ry: number };
  pulp: { rx: number; ry: number } | null;
  /** Where a pin stands and how thick it is drawn; x of a pin counts towards facial, y towards mesial of the axis. */
  pin: (at: { x_mm: number; y_mm: number }) => { x: number; y: number };
  thick: (diameter_mm: number) => number;
}

/** `most`: half of the drawing in pixels. */
export function crossSection(route: Pick<RouteRestoration, "facial_oral_mm" | "mesiodistal_mm">, pulp: Widths | undefined, facing: Facing, most: number): Across {
  const unit = (2 * most) / Math.max(route.facial_oral_mm, route.mesiodistal_mm);
  const oval = (mesiodistal: number, facialOral: number): { rx: number; ry: number } => ({ rx: (mesiodistal / 2) * unit, ry: (facialOral / 2) * unit });
  return {
    tooth: oval(route.mesiodistal_mm, route.facial_oral_mm),
    pulp: pulp?.mesiodistal && pulp.facial_oral ? oval(pulp.mesiodistal, pulp.facial_oral) : null,
    pin: (at) => ({ x: facing.mesial * at.y_mm * unit, y: facing.facial * at.x_mm * unit }),
    thick: (diameter_mm) => (diameter_mm / 2) * unit,
  };
}
