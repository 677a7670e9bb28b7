// Lines of one level over a grid of values (marching squares): pieces through each cell, joined where cells meet.
export type Point = readonly [number, number];

interface Values {
  readonly x: readonly number[];
  readonly y: readonly number[];
  /** Row by row: the value at column c of row r stands at r * x.length + c. */
  readonly at: ArrayLike<number>;
}

/** The lines on which the values are `level`, each a row of points; one that closes ends where it began. */
export function contour(values: Values, level: number): Point[][] {
  const links = new Map<number, number[]>();
  for (let row = 0; row + 1 < values.y.length; row++)
    for (let column = 0; column + 1 < values.x.length; column++)
      for (const [from, to] of piecesOf(values, level, row, column)) {
        links.set(from, [...(links.get(from) ?? []), to]);
        links.set(to, [...(links.get(to) ?? []), from]);
      }
  const ends = [...links.keys()].filter((edge) => links.get(edge)?.length === 1);
  const lines: Point[][] = [];
  for (const start of [...ends, ...links.keys()]) {
    const line: number[] = [];
    for (let edge: number | undefined = start; edge !== undefined; edge = step(links, edge)) line.push(edge);
    if (line.length > 1) lines.push(line.map((edge) => crossing(values, level, edge)));
  }
  return lines;
}

/** Edges have numbers: that to the right of node n is 2n, that downwards 2n + 1. */
function piecesOf(values: Values, level: number, row: number, column: number): [number, number][] {
  const width = values.x.length;
  const node = row * width + column;
  const corners = [node, node + 1, node + width + 1, node + width];
  const [a, b, c, d] = corners.map((corner) => value(values, corner) >= level);
  const crossed = [a !== b ? 2 * node : -1, b !== c ? 2 * node + 3 : -1, c !== d ? 2 * (node + width) : -1, d !== a ? 2 * node + 1 : -1].filter((edge) => edge >= 0);
  const [top, right, bottom, left] = crossed;
  if (top === undefined || right === undefined) return [];
  if (bottom === undefined || left === undefined) return [[top, right]];
  // A saddle: the middle of the cell says which two corners belong together.
  const middle = corners.reduce((sum, corner) => sum + value(values, corner), 0) / corners.length >= level;
  return middle === a ? [[top, right], [bottom, left]] : [[left, top], [right, bottom]];
}

/** Goes on from an edge to one it is linked with, and takes the link away. */
function step(links: Map<number, number[]>, edge: number): number | undefined {
  const next = links.get(edge)?.pop();
  if (next === undefined) return undefined;
  const back = links.get(next);
  back?.splice(back.indexOf(edge), 1);
  return next;
}

function crossing(values: Values, level: number, edge: number): Point {
  const node = edge >> 1;
  const other = edge % 2 === 0 ? node + 1 : node + values.x.length;
  const [low, high] = [value(values, node), value(values, other)];
  const part = (level - low) / (high - low);
  const place = (of: number): Point => [values.x[of % values.x.length] ?? 0, values.y[Math.floor(of / values.x.length)] ?? 0];
  const [from, to] = [place(node), place(other)];
  return [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])];
}

const value = (values: Values, node: number): number => values.at[node] ?? 0;
