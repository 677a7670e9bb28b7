import { describe, expect, it } from "vitest";
import type { RouteRestoration, Sentence } from "../src/api/client";
import { crossSection } from "../src/scale/pins";
import { facingOf, inwards, pointAt, roundLine } from "../src/scale/ring";
import { drawn, postOf, scaleOf, sectionsOf, spansOf } from "../src/scale/stump";
import { GROUPS, withValue } from "../src/state/form";
import { routeBeside, sorted } from "../src/state/restoration.svelte";
import { lacking, percent } from "../src/words";

const line = <T>(at: (station: number) => T): T[] => Array.from({ length: 36 }, (_, i) => at(i));

/** A stump 4 mm high on a level line at 3 mm, walls converging by 2 · atan(1/8); oral the line runs 1 mm lower. */
const route = {
  route: "soft tissue only",
  finish_line_height_mm: line((i) => (i === 18 ? 2 : 3)),
  planned_edge_height_mm: line(() => 8.5),
  crest_after_height_mm: line(() => 0),
  facial_oral_mm: 8,
  mesiodistal_mm: 5,
  convergence_deg: (2 * Math.atan(1 / 8) * 180) / Math.PI,
  stump: { top_height_mm: line(() => 7) },
  ferrule: {
    height_mm: line((i) => (i === 0 ? null : 2)),
    sectors: Array.from({ length: 8 }, (_, i) => ({ centre_deg: i * 45, wall_left_mm: i === 4 ? 1.5 : null })),
  },
  posts: [{ root_mm: 14, finish_below_cej_mm: 1 }],
} as unknown as RouteRestoration;

describe("lengthwise sections", () => {
  const { across, along } = sectionsOf(15, route);
  it("take each side from its own station", () => {
    expect(across.sides.map((side) => [side.name, side.finish, side.ferrule, side.wallLeft])).toEqual([
      ["facial", 3, null, null],
      ["oral", 2, 2, 1.5],
    ]);
  });
  it("show mesial where it lies in the mouth", () => {
    expect(along.sides.map((side) => side.name)).toEqual(["distal", "mesial"]);
    expect(sectionsOf(25, route).along.sides.map((side) => side.name)).toEqual(["mesial", "distal"]);
  });
  it("put the root end a root under the junction", () => {
    expect(along.apex).toBeCloseTo((35 * 3 + 2) / 36 + 1 - 14);
  });
  it("measure height, ferrule and distance to the crest, and leave out what was not read", () => {
    const told = spansOf(across).map((span) => [span.kind, span.side, span.mm]);
    expect(told).toEqual([
      ["crest", 0, 3],
      ["height", 0, 4],
      ["crest", 1, 2],
      ["ferrule", 1, 2],
      ["height", 1, 5],
    ]);
  });
  it("have one scale across and up, within the room there is", () => {
    const scale = scaleOf([across, along], 440, 120, 500);
    expect(scale.unit).toBeCloseTo(Math.min((220 - 120) / (4 + 1), 500 / (scale.high - scale.low)));
    const { x, y } = drawn(across, scale);
    expect(x(1) - x(0)).toBeCloseTo(y(0) - y(1));
  });
  it("lean the walls by half of the convergence each", () => {
    const scale = scaleOf([across, along], 440, 120, 500);
    const corners = [...drawn(across, scale).stump.matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map((found) => Number(found[1]));
    // 8 mm wide, the facial wall 4 mm high, the oral 5 mm, each millimetre up an eighth of a millimetre inwards
    const expected = [-4, -3.5, 4 - 5 / 8, 4].map((mm) => mm * scale.unit);
    corners.forEach((corner, i) => expect(corner).toBeCloseTo(expected[i] ?? NaN, 0));
  });
  it("are drawn without a stump or a root where none is known", () => {
    const bare = sectionsOf(15, { ...route, stump: null, planned_edge_height_mm: null, posts: [] }).across;
    const drawing = drawn(bare, scaleOf([bare], 440, 120, 500));
    expect([drawing.stump, drawing.crown, drawing.ferrule]).toEqual(["", "", []]);
    expect(drawing.root).not.toContain("NaN");
    expect(spansOf(bare).map((span) => span.kind)).toEqual(["crest", "crest", "ferrule"]);
  });
  it("show a post from the finish line down, the rest of its lengths below it", () => {
    const scale = scaleOf([across], 440, 120, 500);
    const { y } = drawn(across, scale);
    const post = postOf(across, scale, { low: 6, high: 8, width: 1 });
    expect(post.least).toContain(`${y(2.5)}V${y(2.5 - 6)}`);
    expect(post.most).toContain(`${y(2.5 - 6)}V${y(2.5 - 8)}`);
  });
});

describe("rings", () => {
  it("stand further out where more of the wall resists, each station at its own angle", () => {
    const path = roundLine(line((i) => (i === 9 ? 0.5 : 1)), 100, facingOf(46));
    expect(path).toContain("L50.0 0.0L");
    expect(roundLine(line(() => 1), 100, facingOf(36))).toContain("L-100.0 0.0L");
  });
});

describe("words about a mark", () => {
  it("stand further inwards beside the ring than above it, and never past its middle", () => {
    expect(inwards(0, 100, facingOf(46)).y).toBeCloseTo(78);
    expect(inwards(90, 100, facingOf(46)).x).toBeCloseTo(64);
    expect(inwards(90, 10, facingOf(46)).x).toBeCloseTo(0);
  });
});

describe("pins on the cross-section", () => {
  const cut = crossSection({ facial_oral_mm: 8, mesiodistal_mm: 5 }, { facial_oral: 2, mesiodistal: 1 }, facingOf(46), 100);
  it("lie towards facial below and towards mesial on its side", () => {
    expect(cut.pin({ x_mm: 4, y_mm: 0 })).toEqual({ x: 0, y: 100 });
    expect(cut.pin({ x_mm: 0, y_mm: 2 })).toEqual({ x: 50, y: 0 });
    expect(pointAt(90, 50, facingOf(46)).x).toBeCloseTo(50);
    const left = crossSection({ facial_oral_mm: 8, mesiodistal_mm: 5 }, undefined, facingOf(36), 100);
    expect(left.pin({ x_mm: 0, y_mm: 2 }).x).toBe(-50);
    expect(left.pulp).toBeNull();
  });
  it("are drawn to the scale of the tooth", () => {
    expect(cut.tooth).toEqual({ rx: 62.5, ry: 100 });
    expect(cut.pulp).toEqual({ rx: 12.5, ry: 25 });
    expect(cut.thick(0.8)).toBeCloseTo(10);
  });
});

describe("the answer", () => {
  const say = (key: string): Sentence => ({ key, text: key, parameters: {} });
  it("is told by what it is for", () => {
    const answer = ["restoration.answer.short", "restoration.ferrule.none", "restoration.would.ferrule"].map(say);
    const told = { head: "restoration.answer.short", lacks: ["restoration.ferrule.none"], would: ["restoration.would.ferrule"] };
    expect(sorted({ answer, would_hold: answer.slice(2) })).toEqual(told);
    expect(sorted({ answer: [], would_hold: [] })).toEqual({ head: "", lacks: [], would: [] });
  });
  it("stands on the route of the plan where that was answered, else on the first", () => {
    const routes = [{ route: "soft tissue only" }, { route: "extrusion first" }] as RouteRestoration[];
    expect(routeBeside({ routes }, "extrusion first")?.route).toBe("extrusion first");
    expect(routeBeside({ routes }, "soft tissue and bone")?.route).toBe("soft tissue only");
    expect(routeBeside({ routes: [] }, "soft tissue only")).toBeNull();
  });
  it("never rounds a share up to what is asked", () => {
    expect([0.4999, 0.5, 0.29, 1].map(percent)).toEqual(["49 %", "50 %", "29 %", "100 %"]);
    expect(percent(null)).toBe("–");
    expect([0.005, 0.1, 0.31].map(lacking)).toEqual(["0.1", "0.1", "0.4"]);
  });
});

describe("findings the restoration rests on", () => {
  const fields = GROUPS.flatMap((group) => group.fields);
  it("ask for the length of a post only where there was one", () => {
    const asked = fields.find((field) => field.path === "old_stump.post_mm")?.asked;
    expect(asked?.({ number: 15, old_stump: { post: true } })).toBe(true);
    expect(asked?.({ number: 15 })).toBe(false);
  });
  it("leave no empty table behind", () => {
    const field = { path: "neck_width_mm.facial_oral" };
    const typed = withValue({ teeth: [{ number: 15 }] }, 0, field, 7.5);
    expect(typed["teeth"]).toEqual([{ number: 15, neck_width_mm: { facial_oral: 7.5 } }]);
    expect(withValue(typed, 0, field, undefined)["teeth"]).toEqual([{ number: 15 }]);
  });
});
