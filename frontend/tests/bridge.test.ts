// Where the parts of a bridge are drawn: sizes to scale, roots the right way up, mesial where it lies in the mouth.
import { expect, test } from "vitest";
import type { BridgeLoad, BridgePontic, BridgeUnit } from "../src/api/client";
import { bedPoints, bedSection, bentLine, drawnConnectors, drawnUnits, factorOf, fromAbove, spanScale } from "../src/scale/bridge";
import { withBed, withWish } from "../src/state/bridge.svelte";

const unit = (number: number, changes: Partial<BridgeUnit> = {}) =>
  ({ number, carries: true, width_mm: 8, crown_mm: 9, neck_width_mm: 5, root_mm: 14, loss_mm: 2, place_mm: [number % 10, 0], ...changes }) as BridgeUnit;
const span = (upper: boolean) => {
  const first = upper ? 14 : 44;
  return [unit(first + 2), unit(first + 1, { carries: false, loss_mm: null }), unit(first)];
};
const load = (middle: number) => ({ deflection_mm: [0, 1, 2].map((i) => [2 * middle * (i === 1 ? 1 : 0.5), middle, middle / 4]) }) as unknown as BridgeLoad;
const ys = (path: string): number[] => [...path.matchAll(/ (-?[\d.]+)/g)].map((found) => Number(found[1]));

test("roots point up in the upper jaw and down in the lower, and the held part is as long as the figures say", () => {
  for (const upper of [true, false]) {
    const scale = spanScale(span(upper), 900, 400);
    const [first] = drawnUnits(span(upper), scale);
    expect(Math.sign((first?.apex ?? 0) - (first?.edge ?? 0))).toBe(upper ? -1 : 1);
    expect((first?.held.height ?? 0) / scale.unit).toBeCloseTo(12);
  }
});

test("connectors are drawn as high as they are, between the units", () => {
  const units = span(true);
  const scale = spanScale(units, 900, 400);
  const connectors = [{ height_mm: 3 }, { height_mm: 4 }] as never;
  const drawn = drawnConnectors({ units, connectors }, scale);
  expect(drawn.map(({ top, bottom }) => (bottom - top) / scale.unit)).toEqual([expect.closeTo(3), expect.closeTo(4)]);
  expect(drawn[0]?.x).toBeCloseTo(scale.x(8));
});

test("the bending is drawn towards the roots, larger by a round factor that keeps it within its room", () => {
  for (const upper of [true, false]) {
    const scale = spanScale(span(upper), 900, 400);
    const units = drawnUnits(span(upper), scale);
    expect(factorOf(load(0.05))).toBe(20);
    expect(factorOf(load(0.0005))).toBe(2000);
    const [, middle] = ys(bentLine(units, load(0.05), 1, scale));
    expect(((middle ?? 0) - (units[1]?.edge ?? 0)) / scale.unit).toBeCloseTo(upper ? -1 : 1, 1);
  }
});

test("from above the line runs through the abutments alone", () => {
  expect(fromAbove(span(true), 300, 230).line.match(/[ML]/g)).toHaveLength(2);
});

const pontic = {
  number: 24,
  points: ["middle", "mesial", "distal", "facial", "oral"],
  places_mm: [[0, 0], [2, 0], [-2, 0], [0, 2], [0, -2]],
  across_mm: 8,
  tissue_mm: [3, 2, 2, 2.5, null],
  depth_mm: [1, 0, 0, 0.5, null],
  wanted_mm: 1,
} as unknown as BridgePontic;

test("mesial lies left on the patient's left and right on the right, facial at the top in the upper jaw", () => {
  const at = (number: number, name: string) => bedPoints({ ...pontic, number }, 200).find((point) => point.name === name);
  expect(at(24, "mesial")?.x).toBeLessThan(at(24, "distal")?.x ?? 0);
  expect(at(14, "mesial")?.x).toBeGreaterThan(at(14, "distal")?.x ?? 0);
  expect(at(24, "facial")?.y).toBeLessThan(at(24, "oral")?.y ?? 0);
  expect(at(34, "facial")?.y).toBeGreaterThan(at(34, "oral")?.y ?? Infinity);
});

test("a bed of which a point is not known is not drawn as if it were", () => {
  const room = { room_mm: 5, least_mm: 5, wanted_mm: 6 };
  const open = bedSection(pontic, room, true, 400);
  expect([open.bone, open.bed, open.marks.length]).toEqual([null, null, 2]);
  const whole = bedSection({ ...pontic, tissue_mm: [3, 2, 2, 2.5, 2.5], depth_mm: [1, 0, 0, 0.5, 0.5] }, room, true, 400);
  expect(whole.bone).not.toBeNull();
  expect(whole.bed).not.toBeNull();
  const words = Object.values(whole.words).sort((a, b) => a - b);
  expect(Math.min(...words.slice(1).map((y, i) => y - (words[i] ?? 0)))).toBeGreaterThanOrEqual(17);
});

test("a wish goes to its bridge alone, and a bed that says nothing goes away", () => {
  const draft = { bridges: [{ teeth: [23, 25], pontics: [24] }, { teeth: [13, 15], pontics: [14] }] };
  const wished = withWish(draft, 1, "material", "metal");
  expect(wished["bridges"]).toEqual([draft.bridges[0], { ...draft.bridges[1], material: "metal" }]);
  const read = withBed(draft, 0, 24, "tissue_mm.middle", 3);
  expect((read["bridges"] as { beds: unknown }[])[0]?.beds).toEqual([{ tooth: 24, tissue_mm: { middle: 3 } }]);
  expect((withBed(read, 0, 24, "tissue_mm.middle", undefined)["bridges"] as object[])[0]).toEqual(draft.bridges[0]);
});
