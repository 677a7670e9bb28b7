// A coarse surface drawn without perspective: from the top, or level with the wall that resists. Frame of the tooth: x towards
// 0 degrees, y towards 90, z along the path.
export type Vector = readonly [number, number, number];
type Row = readonly number[];

export interface Drawn {
  vertices_mm: readonly Row[];
  facets: readonly Row[];
  resists: readonly boolean[];
  finish_line_mm: readonly Row[];
  pivot_mm: Row;
}

export interface Frame {
  path: Row;
  towards_0: Row;
  towards_90: Row;
}

export interface Piece {
  d: string;
  /** 0 turned away from the light to SHADES - 1 towards it. */
  shade: number;
  resists: boolean;
}

export interface Seen {
  pieces: Piece[];
  line: string;
  pivot: { x: number; y: number };
  /** Half width and half height of what is seen, in mm about the middle. */
  box: { x: number; y: number; width: number; height: number };
}

export const SHADES = 5;
const LIGHT: Vector = unit([-0.35, 0.5, 0.8]);

function unit(v: Vector): Vector {
  const length = Math.hypot(...v) || 1;
  return [v[0] / length, v[1] / length, v[2] / length];
}
const minus = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vector, b: Vector): Vector => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const vector = (row: Row | undefined): Vector => [row?.[0] ?? 0, row?.[1] ?? 0, row?.[2] ?? 0];

/** Whether 0, 90 and the path turn like the axes of a right hand: then 90 degrees lie to the right, seen from the top. */
export const isRightHanded = (frame: Frame): boolean => dot(cross(vector(frame.towards_0), vector(frame.towards_90)), vector(frame.path)) > 0;

/** The direction at an angle, in the coordinates of the file. */
export function toVector(frame: Frame, deg: number): Vector {
  const turn = (deg / 180) * Math.PI;
  const [a, b] = [vector(frame.towards_0), vector(frame.towards_90)];
  return [0, 1, 2].map((i) => Math.cos(turn) * (a[i] ?? 0) + Math.sin(turn) * (b[i] ?? 0)) as unknown as Vector;
}

/** Seen from the top, 0 degrees towards the reader; true to the file, not mirrored. */
export function fromTop(drawn: Drawn, right: boolean): Seen {
  const side = right ? 1 : -1;
  return seen(drawn, ([x, y, z]) => [side * y, -x, z]);
}

/** Seen level, looking the way the crown tips: the wall that resists faces the reader, coronal is up. */
export function fromWall(drawn: Drawn, right: boolean, weakestDeg: number): Seen {
  const turn = (weakestDeg / 180) * Math.PI;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const side = right ? 1 : -1;
  return seen(drawn, ([x, y, z]) => [side * (s * x - c * y), z, -(c * x + s * y)]);
}

/** `turned` gives a point as the reader has it: to the right, up, towards. Facets are painted from the back. */
function seen(drawn: Drawn, turned: (v: Vector) => Vector): Seen {
  const points = drawn.vertices_mm.map((row) => turned(vector(row)));
  const found = drawn.facets.flatMap((facet, i) => {
    const [a, b, c] = facet.map((corner) => points[corner] ?? [0, 0, 0]) as [Vector, Vector, Vector];
    const normal = unit(cross(minus(b, a), minus(c, a)));
    if (normal[2] <= 0) return [];
    const shade = Math.min(SHADES - 1, Math.floor(Math.max(0, dot(normal, LIGHT)) * SHADES));
    return [{ depth: a[2] + b[2] + c[2], d: path([a, b, c]), shade, resists: drawn.resists[i] === true }];
  });
  found.sort((one, other) => one.depth - other.depth);
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => -p[1])];
  const [left, top] = [Math.min(...xs), Math.min(...ys)];
  const pivot = turned(vector(drawn.pivot_mm));
  return {
    pieces: found,
    line: path(drawn.finish_line_mm.map((row) => turned(vector(row)))),
    pivot: { x: pivot[0], y: -pivot[1] },
    box: { x: left, y: top, width: Math.max(...xs) - left, height: Math.max(...ys) - top },
  };
}

const path = (points: readonly Vector[]): string => `M${points.map(([x, y]) => `${x.toFixed(3)} ${(-y).toFixed(3)}`).join("L")}Z`;
