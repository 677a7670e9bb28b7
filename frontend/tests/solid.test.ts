import { describe, expect, it } from "vitest";
import { fromTop, fromWall, isRightHanded, SHADES, toVector } from "../src/scale/solid";

const axes = { path: [0, 0, 1], towards_0: [1, 0, 0], towards_90: [0, 1, 0] };
/** A pyramid over a square: four walls, each facing one way, the base open. */
const pyramid = {
  vertices_mm: [[2, 0, 0], [0, 2, 0], [-2, 0, 0], [0, -2, 0], [0, 0, 3]],
  facets: [[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]],
  resists: [false, true, true, false],
  finish_line_mm: [[2, 0, 0], [0, 2, 0], [-2, 0, 0], [0, -2, 0]],
  pivot_mm: [2, 0, 0],
};

describe("a coarse surface drawn without perspective", () => {
  it("shows all walls from the top, 0 degrees below and 90 to the right for a right hand", () => {
    const seen = fromTop(pyramid, true);
    expect(seen.pieces).toHaveLength(4);
    expect(seen.pivot).toEqual({ x: 0, y: 2 });
    expect(seen.box).toEqual({ x: -2, y: -2, width: 4, height: 4 });
    expect(fromTop({ ...pyramid, pivot_mm: [0, 2, 0] }, true).pivot.x).toBe(2);
  });

  it("faces the wall that resists: what looks the way the crown tips is hidden", () => {
    const seen = fromWall(pyramid, true, 0);
    expect(seen.pieces.map((piece) => piece.resists)).toEqual([true, true]);
    expect(seen.pivot.y).toBeCloseTo(0);
    expect(seen.box.height).toBeCloseTo(3);
    expect(seen.pieces.every((piece) => piece.shade >= 0 && piece.shade < SHADES)).toBe(true);
  });

  it("is not mirrored for a left hand, where the facets run the same way about in the file", () => {
    const mirrored = { ...pyramid, vertices_mm: pyramid.vertices_mm.map(([x = 0, y = 0, z = 0]) => [x, -y, z]) };
    expect(fromTop(mirrored, false).pieces).toHaveLength(4);
    expect(fromWall(mirrored, false, 0).pieces.map((piece) => piece.resists)).toEqual([true, true]);
  });

  it("knows the hand of a frame and the direction at an angle", () => {
    expect(isRightHanded(axes)).toBe(true);
    expect(isRightHanded({ ...axes, towards_90: [0, -1, 0] })).toBe(false);
    expect(toVector(axes, 90).map((part) => Math.round(part))).toEqual([0, 1, 0]);
  });
});
