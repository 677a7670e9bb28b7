// The lines of one level against shapes whose lines are known, and the section's values against the server's way to send them.
import { describe, expect, test } from "vitest";
import type { HeatSection } from "../src/api/client";
import { contour, type Point } from "../src/scale/contour";
import { decoded, isotherms, labelled, riseAt, untilOf, within } from "../src/scale/heat_section";
import { strokeBeside } from "../src/state/round";

const axis = Array.from({ length: 41 }, (_, i) => i / 4 - 5);
const over = (of: (x: number, y: number) => number) => ({ x: axis, y: axis.toReversed(), at: axis.toReversed().flatMap((y) => axis.map((x) => of(x, y))) });
const length = (line: Point[]): number => line.slice(1).reduce((sum, [x, y], i) => sum + Math.hypot(x - (line[i]?.[0] ?? 0), y - (line[i]?.[1] ?? 0)), 0);

describe("lines of one level", () => {
  test("a slope has one straight line across, at its place between the nodes", () => {
    const lines = contour(over((x) => x), 0.1);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toHaveLength(axis.length);
    for (const [x] of lines[0] ?? []) expect(x).toBeCloseTo(0.1, 12);
  });

  test("a hill has one closed line of the right length", () => {
    const lines = contour(over((x, y) => 9 - x * x - y * y), 0);
    expect(lines).toHaveLength(1);
    const line = lines[0] ?? [];
    expect(line[0]).toEqual(line.at(-1));
    // Chords of a circle of radius 3 with cells of a quarter: a hundredth too short at most.
    expect(length(line)).toBeGreaterThan(2 * Math.PI * 3 * 0.99);
    expect(length(line)).toBeLessThan(2 * Math.PI * 3 * 1.001);
    for (const [x, y] of line) expect(Math.hypot(x, y)).toBeCloseTo(3, 1);
  });

  test("two hills have two lines, and where they run together one", () => {
    const hills = over((x, y) => Math.exp(-((x - 2) ** 2) - y * y) + Math.exp(-((x + 2) ** 2) - y * y));
    expect(contour(hills, 0.5)).toHaveLength(2);
    expect(contour(hills, 0.02)).toHaveLength(1);
  });

  test("a saddle parts as its middle says and every piece is drawn once", () => {
    const saddle = (high: number) => contour({ x: [0, 1], y: [0, 1], at: [high, 0, 0, high] }, 1);
    expect(saddle(3)).toHaveLength(2);
    expect(saddle(1.5)).toHaveLength(2);
    // How far the middle of a piece lies from the diagonal through the high corners: on it where they are apart.
    const away = (line: Point[]): number => Math.abs(((line[0]?.[0] ?? 0) + (line[1]?.[0] ?? 0) - (line[0]?.[1] ?? 0) - (line[1]?.[1] ?? 0)) / 2);
    for (const line of saddle(1.5)) expect(away(line)).toBeCloseTo(0, 12);
    for (const line of saddle(3)) expect(away(line)).toBeCloseTo(2 / 3, 12);
  });

  test("nothing is drawn where nothing is crossed", () => {
    expect(contour(over(() => 1), 2)).toEqual([]);
    expect(contour(over(() => 2), 2)).toEqual([]);
  });

  test("what is sent is what is drawn, however the field looks", () => {
    // A field without order: every crossing of an edge is the end of one piece on either side of it, so pieces and edges agree.
    let seed = 7;
    const noise = over(() => (seed = (seed * 16807) % 2147483647) / 2147483647);
    const crossings = new Set(contour(noise, 0.5).flat().map(([x, y]) => `${x.toFixed(9)} ${y.toFixed(9)}`));
    let edges = 0;
    noise.at.forEach((value, node) => {
      const [column, row] = [node % axis.length, Math.floor(node / axis.length)];
      if (column + 1 < axis.length && value >= 0.5 !== (noise.at[node + 1] ?? 0) >= 0.5) edges++;
      if (row + 1 < axis.length && value >= 0.5 !== (noise.at[node + axis.length] ?? 0) >= 0.5) edges++;
    });
    expect(crossings.size).toBe(edges);
  });
});

/** A shape of whole numbers as the server sends it. */
function sent(numbers: readonly number[]): string {
  const view = new DataView(new ArrayBuffer(2 * numbers.length));
  numbers.forEach((number, i) => view.setInt16(2 * i, number, true));
  return btoa(String.fromCharCode(...new Uint8Array(view.buffer)));
}

const x = [-3, -2, -1, 0, 1, 2, 3];
const y = [4, 3, 2, 1, 0, -1, -2];
const box = (tissue: HeatSection["outlines"][number]["tissue"], side: "here" | "across", from: number, to: number, low: number) => ({
  tissue,
  side,
  points_mm: [[from, 5], [to, 5], [to, low], [from, low]].map(([a = 0, b = 0]) => [side === "here" ? a : -a, Math.min(b, tissue === "bone" ? 0.5 : 5)]),
});
const section: HeatSection = {
  format: "collum-heat-section/1",
  number: 46,
  station_deg: 0,
  stations_deg: [0, 180],
  band: "high",
  across_mm: x,
  height_mm: y,
  every_s: 0.5,
  // The first shape falls with depth, the second counts the columns.
  amounts_degC: [[0, 0], [0.01, 0], [0.01, 0.5]],
  shapes: [sent(y.flatMap((up) => x.map(() => 300 + 100 * up))), sent(y.flatMap(() => x))],
  outlines: (["here", "across"] as const).flatMap((side) => [box("tooth", side, 0, 1.5, -2), box("bone", side, 1.5, 2.5, -2), box("gum", side, 1.5, 3.2, -2)]),
  levels_degC: [1, 2],
  limits: [
    { organ: "bone", rise_degC: 4 },
    { organ: "ligament", rise_degC: 4 },
    { organ: "pulp", rise_degC: 3.5 },
  ],
  organs: [],
  note: { key: "", parameters: {}, text: "" },
};

describe("the section", () => {
  const shapes = decoded(section);

  test("is decoded with its signs", () => {
    expect([...(shapes[1] ?? [])].slice(0, 7)).toEqual(x);
    expect(shapes[0]?.[0]).toBe(700);
  });

  test("is the sum of shapes times amounts, straight between instants and held at both ends", () => {
    expect(riseAt(section, shapes, 0.5)[0]).toBeCloseTo(7, 5);
    expect(riseAt(section, shapes, 0.25)[0]).toBeCloseTo(3.5, 5);
    expect(riseAt(section, shapes, 0.75)[0]).toBeCloseTo(7 - 0.75, 5);
    expect(riseAt(section, shapes, 99)).toEqual(riseAt(section, shapes, untilOf(section)));
    expect(riseAt(section, shapes, -1).every((rise) => rise === 0)).toBe(true);
  });

  test("has its plain lines first, one line for organs of one limit, and says how far each reaches", () => {
    const lines = isotherms(section, riseAt(section, shapes, 0.5));
    expect(lines.map(({ rise, kind, organs }) => [rise, kind, organs.length])).toEqual([[1, "plain", 0], [2, "plain", 0], [4, "bone", 2], [3.5, "pulp", 1]]);
    // The rise is 3 + height, and the crest lies at 0.5: the line of 4 at a height of 1 reaches down to 0.5 above it.
    expect(lines[2]?.aboveCrest.here).toBeCloseTo(0.5, 5);
    expect(lines[2]?.aboveCrest.across).toBeCloseTo(0.5, 5);
    expect(lines[0]?.aboveCrest.here).toBeNull();
  });

  test("counts a limit only in the tissue that bears on its organ", () => {
    const tooth = { ...section, outlines: section.outlines.filter(({ tissue }) => tissue !== "gum") };
    const lines = isotherms(tooth, riseAt(section, shapes, 0.5));
    expect(lines[2]?.aboveCrest.here).toBeNull(); // a height of 1 lies above the bone
    expect(lines[3]?.aboveCrest.here).toBeCloseTo(0, 5);
  });

  test("labels no line over another label", () => {
    const lines = isotherms(section, riseAt(section, shapes, 0.5));
    const labels = labelled(section, lines, [1.5, 1.5]).filter((label) => label !== null);
    expect(labels.length).toBeGreaterThan(1);
    for (const [i, a] of labels.entries()) for (const b of labels.slice(i + 1)) expect(Math.abs(a[0] - b[0]) > 1.5 || Math.abs(a[1] - b[1]) > 1.5).toBe(true);
    expect(labelled(section, lines, [99, 99]).filter((label) => label !== null)).toHaveLength(1);
  });
});

test("a point lies within an outline or not", () => {
  const outline = [[0, 0], [2, 0], [2, 2], [1, 1], [0, 2]];
  expect(within(outline, [0.5, 0.5])).toBe(true);
  expect(within(outline, [1, 1.5])).toBe(false);
  expect(within(outline, [3, 1])).toBe(false);
});

test("the slider goes from stroke to stroke and stays where there is none", () => {
  const strokes = [0, 2, 5].map((start_s, i) => ({ sector: i, number: 1, start_s, end_s: start_s + 0.8, wait_s: 0 }));
  expect([0, 1, 2, 4.98, 9].map((at) => strokeBeside(strokes, at, 1))).toEqual([2, 2, 5, 4.98, 9]);
  expect([0, 1, 2, 9].map((at) => strokeBeside(strokes, at, -1))).toEqual([0, 0, 0, 5]);
});
