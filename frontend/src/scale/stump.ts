// Lengthwise sections of stump, root and crown in mm, and the same section in pixels, to one scale across and up.
import type { RouteRestoration } from "../api/client";
import { facingOf } from "./ring";

export interface Side {
  name: "facial" | "oral" | "mesial" | "distal";
  finish: number;
  top: number | null;
  edge: number | null;
  crest: number;
  /** Sound tooth over the finish line and the wall left in its sector; null where it was not read. [mm] */
  ferrule: number | null;
  wallLeft: number | null;
}

export interface Section {
  /** Left and right as drawn: facial to oral, or as seen from outside the mouth. */
  sides: readonly [Side, Side];
  /** Half of the width at the finish line. [mm] */
  half: number;
  /** Height of the root end; null where no root is known. [mm] */
  apex: number | null;
  /** How far a wall leans inwards for each millimetre up. */
  lean: number;
}

export interface Span {
  kind: "height" | "ferrule" | "crest";
  side: 0 | 1;
  low: number;
  high: number;
  /** Its length; negative where the upper end lies below the lower. [mm] */
  mm: number;
}

/** Shapes of the drawing alone, mm: the root is drawn single and straight, whatever the tooth has. */
export const DRAWN = { bulge: 1, plate: 2.2, under: 1.4, tip: 0.45, wall: 1, noRoot: 7, over: 0.6 };

export function sectionsOf(number: number, route: RouteRestoration): { across: Section; along: Section } {
  const quarter = route.finish_line_height_mm.length / 4;
  const mesial = { name: "mesial", station: quarter } as const;
  const distal = { name: "distal", station: 3 * quarter } as const;
  const section = (left: Place, right: Place, width: number): Section => ({
    sides: [sideAt(route, left), sideAt(route, right)],
    half: width / 2,
    apex: apexOf(route),
    lean: Math.tan(((route.convergence_deg / 2) * Math.PI) / 180),
  });
  return {
    across: section({ name: "facial", station: 0 }, { name: "oral", station: 2 * quarter }, route.facial_oral_mm),
    along: facingOf(number).mesial > 0 ? section(distal, mesial, route.mesiodistal_mm) : section(mesial, distal, route.mesiodistal_mm),
  };
}

type Place = { name: Side["name"]; station: number };

function sideAt(route: RouteRestoration, { name, station }: Place): Side {
  const { sectors } = route.ferrule;
  const sector = sectors[Math.round((station / route.finish_line_height_mm.length) * sectors.length) % sectors.length];
  return {
    name,
    finish: route.finish_line_height_mm[station] ?? 0,
    top: route.stump?.top_height_mm[station] ?? null,
    edge: route.planned_edge_height_mm?.[station] ?? null,
    crest: route.crest_after_height_mm[station] ?? 0,
    ferrule: route.ferrule.height_mm[station] ?? null,
    wallLeft: sector?.wall_left_mm ?? null,
  };
}

/** The root end lies a root's length under the cemento-enamel junction, which the server gives from the mean finish line. */
function apexOf(route: RouteRestoration): number | null {
  const post = route.posts[0];
  if (post === undefined || post.root_mm === null) return null;
  return route.finish_line_height_mm.reduce((sum, mm) => sum + mm, 0) / route.finish_line_height_mm.length + post.finish_below_cej_mm - post.root_mm;
}

/** The upright measures of a section, in the order in which they stand outwards. */
export function spansOf(section: Section): Span[] {
  return section.sides.flatMap(({ finish, top, ferrule, crest }, i) => {
    const side = i as 0 | 1;
    const span = (kind: Span["kind"], low: number, high: number): Span => ({ kind, side, low, high, mm: high - low });
    const found = [span("crest", crest, finish)];
    if (ferrule !== null && ferrule > 0) found.push(span("ferrule", finish, finish + ferrule));
    if (top !== null) found.push(span("height", finish, top));
    return found;
  });
}

/** One scale for all sections: pixels to a millimetre, highest and lowest place drawn. */
export interface Scale {
  unit: number;
  high: number;
  low: number;
}

/** The largest scale with which all sections fit between `beside` pixels of labels on each side and under `most` pixels of height. */
export function scaleOf(sections: readonly Section[], width: number, beside: number, most: number): Scale {
  const sides = sections.flatMap((section) => section.sides);
  const high = Math.max(...sides.map((side) => Math.max(side.edge ?? side.top ?? side.finish, side.finish))) + DRAWN.over;
  const floor = Math.min(...sides.map((side) => side.crest)) - DRAWN.noRoot;
  const low = Math.min(...sections.map((section) => section.apex ?? floor)) - DRAWN.under;
  const reach = Math.max(...sections.map((section) => section.half)) + DRAWN.bulge;
  return { unit: Math.min((width / 2 - beside) / reach, most / (high - low)), high, low };
}

export type Sign = -1 | 1;
const SIGNS: readonly Sign[] = [-1, 1];

/** A section as paths in pixels; x counts from its middle. */
export interface Drawing {
  bone: string[];
  root: string;
  crown: string;
  stump: string;
  ferrule: string[];
  /** Where the walls would go on above the top. */
  walls: string;
  x: (mm: number) => number;
  y: (mm: number) => number;
}

export function drawn(section: Section, scale: Scale): Drawing {
  const x = (mm: number): number => mm * scale.unit;
  const y = (mm: number): number => (scale.high - mm) * scale.unit;
  const at = (across: number, up: number): string => `${x(across).toFixed(1)} ${y(up).toFixed(1)}`;
  const { half, lean, sides } = section;
  const end = section.apex ?? scale.low;
  const middle = (sides[0].finish + sides[1].finish) / 2;
  const tip = half * DRAWN.tip;
  /** Half width of the drawn root at a height: straight from the finish line to the tip. */
  const rootAt = (up: number): number => half - (half - tip) * Math.min(1, Math.max(0, (middle - up) / (middle - end)));
  const each = (draw: (side: Side, sign: Sign) => string): string[] => sides.map((side, i) => draw(side, SIGNS[i] as Sign)).filter(Boolean);
  const foot = (side: Side, sign: Sign): string => at(sign * half, side.finish);
  const top = (side: Side, sign: Sign): string => at(sign * (half - ((side.top ?? side.finish) - side.finish) * lean), side.top ?? side.finish);
  const [left, right] = sides;
  const hasTop = left.top !== null && right.top !== null;
  return {
    x,
    y,
    bone: each((side, sign) => {
      const out = sign * (half + DRAWN.plate);
      return `M${at(out, scale.low)}L${at(out, side.crest)}L${at(sign * rootAt(side.crest), side.crest)}L${at(sign * tip, end)}L${at(sign * tip, scale.low)}Z`;
    }),
    root:
      section.apex === null
        ? `M${foot(left, -1)}L${at(-tip, end)}M${at(tip, end)}L${foot(right, 1)}`
        : `M${foot(left, -1)}L${at(-tip, end + tip)}Q${at(-tip, end)} ${at(0, end)}Q${at(tip, end)} ${at(tip, end + tip)}L${foot(right, 1)}`,
    crown:
      left.edge === null || right.edge === null
        ? ""
        : `M${foot(left, -1)}Q${at(-half - 2 * DRAWN.bulge, (left.finish + left.edge) / 2)} ${at(-half, left.edge)}` +
          `L${at(half, right.edge)}Q${at(half + 2 * DRAWN.bulge, (right.finish + right.edge) / 2)} ${foot(right, 1)}`,
    stump: hasTop ? `M${foot(left, -1)}L${top(left, -1)}L${top(right, 1)}L${foot(right, 1)}Z` : "",
    ferrule: each(({ finish, ferrule, wallLeft }, sign) => {
      if (ferrule === null || ferrule <= 0 || !hasTop) return "";
      const inner = Math.max(half - (wallLeft ?? DRAWN.wall), 0);
      const outer = Math.max(half - ferrule * lean, inner);
      return `M${at(sign * half, finish)}L${at(sign * outer, finish + ferrule)}L${at(sign * inner, finish + ferrule)}L${at(sign * inner, finish)}Z`;
    }),
    walls: hasTop
      ? each((side, sign) => {
          const up = (side.top ?? 0) + 2 * DRAWN.over;
          return `M${top(side, sign)}L${at(sign * (half - (up - side.finish) * lean), up)}`;
        }).join("")
      : "",
  };
}

/** The post in the section: how deep it has to reach, and how deep it may. Empty where no length fits. */
export function postOf(section: Section, scale: Scale, post: { low: number; high: number; width: number }): { least: string; most: string } {
  const { x, y } = drawn(section, scale);
  const start = (section.sides[0].finish + section.sides[1].finish) / 2;
  const half = post.width / 2;
  const box = (from: number, to: number): string => `M${x(-half)} ${y(start - from)}V${y(start - to)}H${x(half)}V${y(start - from)}`;
  return { least: `${box(0, post.low)}Z`, most: box(post.low, post.high) };
}
