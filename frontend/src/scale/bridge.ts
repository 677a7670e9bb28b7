// Where the parts of a bridge lie on its drawings. Units come in order from the patient's right, as they stand when looked at from the cheek.
import type { Bridge, BridgeLoad, BridgePontic, BridgeUnit } from "../api/client";
import { facingOf } from "./ring";
import { spread } from "./strip";

type Point = readonly [number, number];

const SIDE_MM = 4;
const ABOVE_MM = 4;
const BELOW_MM = 2.2;
const FACTORS = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
const MOST_DRAWN_MM = 3.5;

const at = ([x, y]: Point): string => `${x.toFixed(1)} ${y.toFixed(1)}`;
const closed = (points: readonly Point[]): string => `M${points.map(at).join("L")}Z`;
export const isUpper = (number: number): boolean => number < 30;

/** The drawing seen from the cheek: `x` across, `y` a height over the necks, biting edge positive; roots up in the upper jaw. */
export interface SpanScale {
  width: number;
  height: number;
  unit: number;
  upper: boolean;
  x: (mm: number) => number;
  y: (mm: number) => number;
}

export function spanScale(units: readonly BridgeUnit[], width: number, most: number): SpanScale {
  const across = sum(units.map((unit) => unit.width_mm)) + 2 * SIDE_MM;
  const over = Math.max(...units.map((unit) => unit.crown_mm)) + ABOVE_MM;
  const under = Math.max(...units.map((unit) => (unit.carries ? unit.root_mm : 0)), 4) + BELOW_MM;
  const unit = Math.min(width / across, most / (over + under));
  const upper = units[0] !== undefined && isUpper(units[0].number);
  const left = (width - across * unit) / 2;
  return {
    width,
    height: (over + under) * unit,
    unit,
    upper,
    x: (mm) => left + (SIDE_MM + mm) * unit,
    y: (mm) => (upper ? under + mm : over - mm) * unit,
  };
}

const sum = (values: readonly number[]): number => values.reduce((all, one) => all + one, 0);

export interface DrawnUnit {
  unit: BridgeUnit;
  middle: number;
  crown: string;
  root: string | null;
  /** From where to where across the drawing the root is held in bone; its whole length where the loss is not known. */
  held: { y: number; height: number };
  edge: number;
  apex: number;
  /** Where its number stands. */
  label: number;
}

const HEIGHT_OF_BULGE = 0.45;
const TOP = 0.74;
const NUMBER_AT = 0.24;
const FORK_AT = 0.34;
const CANINE = 3;
const MOLAR = 6;

export function drawnUnits(units: readonly BridgeUnit[], scale: SpanScale): DrawnUnit[] {
  let before = 0;
  return units.map((unit) => {
    const middle = before + unit.width_mm / 2;
    before += unit.width_mm;
    const p = (along: number, mm: number): string => at([scale.x(middle + along), scale.y(mm)]);
    const from = scale.y(-Math.min(unit.loss_mm ?? 0, unit.root_mm));
    const to = scale.y(-unit.root_mm);
    return {
      unit,
      middle: scale.x(middle),
      crown: crownPath(unit, p),
      root: unit.carries ? rootPath(unit, p) : null,
      held: { y: Math.min(from, to), height: Math.abs(to - from) },
      edge: scale.y(unit.crown_mm),
      apex: to,
      label: scale.y(unit.crown_mm * NUMBER_AT) + (scale.upper ? 12 : 0),
    };
  });
}

type Place = (along: number, mm: number) => string;

/** A crown from neck over bulge to the biting edge: straight in incisors, pointed in canines, hollow behind. */
function crownPath(unit: BridgeUnit, p: Place): string {
  const h = unit.crown_mm;
  const neck = unit.neck_width_mm / 2;
  const bulge = unit.width_mm / 2;
  const top = bulge * TOP;
  const position = unit.number % 10;
  const edge = position < CANINE ? h : position === CANINE ? h * 1.1 : h * 0.86;
  const foot = unit.carries ? `L${p(-neck, 0)}` : `Q${p(0, -h * 0.04)} ${p(-neck, h * 0.08)}`;
  const start = unit.carries ? 0 : h * 0.08;
  return `M${p(-neck, start)}C${p(-bulge, h * 0.2)} ${p(-bulge * 1.08, h * 0.62)} ${p(-top, h)}Q${p(0, edge)} ${p(top, h)}C${p(bulge * 1.08, h * 0.62)} ${p(bulge, h * 0.2)} ${p(neck, start)}${foot}Z`;
}

/** A root with a round apex; behind the premolars two of them, as they are seen from the cheek. */
function rootPath(unit: BridgeUnit, p: Place): string {
  const n = unit.neck_width_mm / 2;
  const r = unit.root_mm;
  if (unit.number % 10 < MOLAR) return `M${p(-n, 0)}C${p(-n * 0.9, -r * 0.5)} ${p(-n * 0.5, -r)} ${p(0, -r)}C${p(n * 0.5, -r)} ${p(n * 0.9, -r * 0.5)} ${p(n, 0)}Z`;
  const one = `C${p(-n * 1.1, -r * 0.5)} ${p(-n * 0.9, -r)} ${p(-n * 0.66, -r)}C${p(-n * 0.4, -r)} ${p(-n * 0.3, -r * 0.6)} ${p(0, -r * FORK_AT)}`;
  const two = `C${p(n * 0.3, -r * 0.6)} ${p(n * 0.4, -r)} ${p(n * 0.66, -r)}C${p(n * 0.9, -r)} ${p(n * 1.1, -r * 0.5)} ${p(n, 0)}`;
  return `M${p(-n, 0)}${one}${two}Z`;
}

/** Narrower units have the sizes of their connectors in two rows. */
const SIZE_WIDTH = 66;
const ROW = 16;

export interface DrawnConnector {
  x: number;
  /** Where the words of its size stand. */
  words: number;
  top: number;
  bottom: number;
  half: number;
}

/** Connectors at the bulge, as high as they are. */
export function drawnConnectors(bridge: Pick<Bridge, "units" | "connectors">, scale: SpanScale): DrawnConnector[] {
  let before = 0;
  return bridge.connectors.map((connector, i) => {
    const [one, two] = [bridge.units[i], bridge.units[i + 1]];
    before += one?.width_mm ?? 0;
    const middle = Math.min(one?.crown_mm ?? 0, two?.crown_mm ?? 0) * HEIGHT_OF_BULGE;
    const ends = [scale.y(middle + connector.height_mm / 2), scale.y(middle - connector.height_mm / 2)];
    const row = (one?.width_mm ?? 0) * scale.unit < SIZE_WIDTH ? (i % 2) * ROW : 0;
    const words = scale.y(-1.6) + (scale.upper ? -row : 10 + row);
    return { x: scale.x(before), words, top: Math.min(...ends), bottom: Math.max(...ends), half: scale.unit * 1.1 };
  });
}

/** By how much the bending is drawn larger, a round number, so that the most of it fills the room. */
export function factorOf(load: BridgeLoad): number {
  const most = Math.max(...load.deflection_mm.map((three) => Math.max(...three.map(Math.abs))), 1e-6);
  return [...FACTORS].reverse().find((factor) => factor * most <= MOST_DRAWN_MM) ?? 1;
}

/** The biting edges moved as they bend, at one of the three stiffnesses. */
export function bentLine(drawn: readonly DrawnUnit[], load: BridgeLoad, stiffness: 0 | 1 | 2, scale: SpanScale): string {
  const factor = factorOf(load);
  const toRoot = scale.upper ? -1 : 1;
  const points = drawn.map((one, i): Point => [one.middle, one.edge + toRoot * factor * (load.deflection_mm[i]?.[stiffness] ?? 0) * scale.unit]);
  return `M${points.map(at).join("L")}`;
}

/** The arch seen from above, front upwards, fitted into a square. */
export interface FromAbove {
  points: { x: number; y: number; half: number }[];
  line: string;
}

export function fromAbove(units: readonly BridgeUnit[], width: number, height: number): FromAbove {
  const places = units.map((unit) => [unit.place_mm[0] ?? 0, unit.place_mm[1] ?? 0] as const);
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  const [low, high] = [Math.min(...xs), Math.max(...xs)];
  const [front, back] = [Math.min(...ys), Math.max(...ys)];
  const most = Math.max(...units.map((unit) => unit.width_mm));
  const unit = Math.min(width / (high - low + 2 * most), height / (back - front + 2 * most));
  const point = ([x, y]: readonly [number, number]): Point => [width / 2 + (x - (low + high) / 2) * unit, height / 2 + (y - (front + back) / 2) * unit];
  const drawn = places.map(point);
  const carrying = drawn.filter((_, i) => units[i]?.carries);
  return {
    points: drawn.map(([x, y], i) => ({ x, y, half: ((units[i]?.width_mm ?? 0) / 2) * unit * 0.86 })),
    line: `M${carrying.map(at).join("L")}`,
  };
}

/** A pontic cut from cheek to palate or tongue: bone, tissue, the hollow that may be made, and the room over it. */
export interface BedSection {
  width: number;
  height: number;
  bone: string | null;
  tissue: string | null;
  bed: string | null;
  body: string;
  ridge: number;
  opposing: number | null;
  least: number;
  wanted: number;
  /** Where the words of the three heights stand, kept apart. */
  words: { least: number; wanted: number; there: number };
  marks: { x: number; surface: number; bone: number; bed: number; tissue_mm: number; depth_mm: number }[];
}

const ACROSS = ["facial", "middle", "oral"];

export function bedSection(pontic: BridgePontic, room: { room_mm: number | null; least_mm: number; wanted_mm: number }, upper: boolean, width: number): BedSection {
  const at_mm = (name: string): number => pontic.points.indexOf(name);
  const tissue = ACROSS.map((name) => pontic.tissue_mm?.[at_mm(name)] ?? null);
  const depth = ACROSS.map((name) => pontic.depth_mm?.[at_mm(name)] ?? null);
  const deep = Math.max(...tissue.map((mm) => mm ?? 0), 2) + 2;
  const over = Math.max(room.room_mm ?? 0, room.wanted_mm) + 1.5;
  const unit = Math.min(26, (width - 150) / pontic.across_mm);
  const x = (i: number): number => 24 + (pontic.across_mm / 2 + ((i - 1) * pontic.across_mm) / 4) * unit;
  const y = (mm: number): number => (upper ? deep + mm : over - mm) * unit;
  const [left, right] = [24, 24 + pontic.across_mm * unit];
  const known = tissue.every((mm) => mm !== null);
  const under = (depths: readonly (number | null)[]): Point[] => depths.map((mm, i): Point => [x(i), y(-(mm ?? 0))]);
  const level = (depths: readonly (number | null)[]): Point[] => [[left, y(-(depths[0] ?? 0))], ...under(depths), [right, y(-(depths[2] ?? 0))]];
  const surface: Point[] = [[right, y(0)], [left, y(0)]];
  const high = room.room_mm ?? room.least_mm;
  const inset = (right - left) * 0.12;
  const words = spread([y(room.least_mm), y(room.wanted_mm), y(room.room_mm ?? room.least_mm)], 17, 10, (deep + over) * unit);
  return {
    width,
    height: (deep + over) * unit,
    bone: known ? closed([...level(tissue), [right, y(-deep)], [left, y(-deep)]]) : null,
    tissue: known ? closed([...level(tissue), ...surface]) : null,
    bed: depth.every((mm) => mm !== null) ? closed([[x(0), y(0)], ...under(depth), [x(2), y(0)]]) : null,
    body: closed([[left + inset, y(0)], [left, y(high / 2)], [left + inset, y(high)], [right - inset, y(high)], [right, y(high / 2)], [right - inset, y(0)]]),
    ridge: y(0),
    opposing: room.room_mm === null ? null : y(room.room_mm),
    least: y(room.least_mm),
    wanted: y(room.wanted_mm),
    words: { least: words[0] ?? 0, wanted: words[1] ?? 0, there: words[2] ?? 0 },
    marks: ACROSS.flatMap((_, i) => {
      const [thick, deepest] = [tissue[i], depth[i]];
      return thick === null || thick === undefined || deepest === null || deepest === undefined
        ? []
        : [{ x: x(i), surface: y(0), bone: y(-thick), bed: y(-deepest), tissue_mm: thick, depth_mm: deepest }];
    }),
  };
}

/** The five points of a bed as they face who looks onto the ridge. */
export function bedPoints(pontic: BridgePontic, width: number): { x: number; y: number; name: string; depth: number | null; share: number }[] {
  const facing = facingOf(pontic.number);
  const most = Math.max(...pontic.places_mm.flat().map(Math.abs), 1);
  const deepest = Math.max(...(pontic.depth_mm ?? []).map((mm) => mm ?? 0), pontic.wanted_mm);
  return pontic.points.map((name, i) => {
    const [mesial, facial] = [pontic.places_mm[i]?.[0] ?? 0, pontic.places_mm[i]?.[1] ?? 0];
    const depth = pontic.depth_mm?.[i] ?? null;
    return {
      x: width / 2 + (facing.mesial * mesial * 66) / most,
      y: width / 2 - 12 + (facing.facial * facial * 66) / most,
      name,
      depth,
      share: depth === null ? 0 : depth / deepest,
    };
  });
}
