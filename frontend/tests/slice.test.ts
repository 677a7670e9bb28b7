// The slice at one station and the small drawing beside a route: one scale, up is up, and what is cut or taken is drawn as that.
import { describe, expect, it } from "vitest";
import { extentOf, sectionOf } from "../src/scale/slice";
import { stackOf, type Bar } from "../src/scale/stack";

const level = (height: number) => ({ mean_height_mm: [height] });
const tooth = {
  radius_mm: [3],
  tissue_thickness_mm: [1],
  levels: { planned_edge: level(8), sound_edge: level(4), gingival_margin: level(3), sulcus_base: level(2), crest: level(0) },
} as never;
const flap = { operations: ["bone"], cut_line_height_mm: [2], cut_line_outer_height_mm: [1.5], finish_line_height_mm: [3], rest_line: { median_height_mm: [1] }, crest_after_height_mm: [-1.5], extrusion_mm: 0 };
const restore = { ...flap, name: "restore without lengthening", lengthens: false, crest_after_height_mm: [0], rest_line: { median_height_mm: [3] } };
const numbers = (path: string): number[] => [...path.matchAll(/-?[\d.]+/g)].map((found) => Number(found[0]));

describe("the slice", () => {
  const extent = extentOf(tooth, flap as never, [0], 400);
  const section = sectionOf(tooth, flap as never, 0, extent);
  const unit = (400 - 20) / (extent.high - extent.low);
  it("holds the highest and the lowest place", () => {
    const tall = { ...(tooth as object), levels: { ...(tooth as { levels: object }).levels, planned_edge: level(10) } } as never;
    const held = extentOf(tall, flap as never, [0], 400);
    expect([held.low, held.high]).toEqual([-1.5 - 2.4, 10.4]);
  });
  it("draws a short tooth no larger than one of 13 mm", () => {
    expect(extent.high - extent.low).toBeCloseTo(13);
  });
  it("has one scale, the margin above the crest", () => {
    expect(((section?.crest.y ?? 0) - (section?.margin.y ?? 0)) / unit).toBeCloseTo(3);
    expect(((section?.crestAfter.y ?? 0) - (section?.crest.y ?? 0)) / unit).toBeCloseTo(1.5);
    expect(((section?.crest.x ?? 0) - (section?.base?.x ?? 0)) / unit).toBeLessThan(2);
    expect((section?.clear ?? 0) / unit).toBeLessThan(3 + 5);
  });
  it("draws tissue that is cut, and bone that is taken from today's crest", () => {
    expect(section?.cutAt).not.toBeNull();
    expect(section?.boneTaken).not.toBe(section?.bone);
    const ys = (path: string): number[] => numbers(path).filter((_, i) => i % 2 === 1);
    expect((Math.min(...ys(section?.bone ?? "")) - Math.min(...ys(section?.boneTaken ?? ""))) / unit).toBeCloseTo(1.5, 1);
  });
  it("draws no cut where a route cuts nothing", () => {
    const without = sectionOf(tooth, restore as never, 0, extent);
    expect([without?.cutAt, without?.removed, without?.boneTaken]).toEqual([null, "", ""]);
  });
});

describe("the drawing beside a route", () => {
  const bars = (route: object): Record<string, Bar> => Object.fromEntries((stackOf(tooth, route as never, 0)?.bars ?? []).map((bar) => [bar.kind, bar]));
  const mm = (from: number, to: number): number => ((to - from) * (68 - 1)) / (8.2 + 2.6);
  it("shows the bone and the gum that go, and what stays, to one scale", () => {
    const { cut, gum, gone, bone } = bars(flap);
    expect([cut, gum, gone].map((bar) => bar?.height)).toEqual([mm(1, 3), mm(-1.5, 1), mm(-1.5, 0)].map((height): unknown => expect.closeTo(height)));
    expect(gone?.y).toBeLessThan(bone?.y ?? 0);
  });
  it("takes nothing where the route takes nothing", () => {
    expect([bars(restore)["cut"], bars(restore)["gone"]]).toEqual([undefined, undefined]);
  });
});
