// What the strip says of heights that rest on bone nobody read, and from where it counts.
import { describe, expect, it } from "vitest";
import { countsFromBone, labelOf, unsounded, zeroOf } from "../src/scale/lines";

const tooth = (read: boolean, sites: { site: string; bone_read: boolean }[] = []): never =>
  ({ levels: { crest: { mean_height_mm: [-3, -4.5, -2] }, crest_read: read }, routes: [{ sites: [] }, { sites }] }) as never;

describe("bone on the strip", () => {
  it("counts from the deepest crest, as the papers do", () => expect(zeroOf(tooth(true))).toBe(-4.5));
  it("names a crest that was read nowhere", () => {
    expect(labelOf(tooth(true), "crest")).toBe("crest");
    expect(labelOf(tooth(false), "crest")).toBe("crest_not_read");
    expect(labelOf(tooth(false), "cut_line")).toBe("cut_line");
  });
  it("knows the sites whose bone was not read", () => {
    const sites = [
      { site: "F", bone_read: true },
      { site: "DL", bone_read: false },
    ];
    expect(unsounded(tooth(true, sites))).toEqual(["DL"]);
    expect(unsounded(tooth(true))).toEqual([]);
  });
  it("marks the lines that stand on bone alone", () => {
    expect(["crest", "crest_after", "crest_today"].every(countsFromBone)).toBe(true);
    expect(["sound_edge", "sulcus_base", "finish_line"].some(countsFromBone)).toBe(false);
  });
});
