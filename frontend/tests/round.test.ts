import { describe, expect, it } from "vitest";
import type { HeatStroke, ToothHeat } from "../src/api/client";
import { piece, pointAt, sweep } from "../src/scale/ring";
import { entered, eventsOf, momentOf, shownSeconds, standings } from "../src/state/round";

const strokes: HeatStroke[] = [0, 2, 1].map((sector, i) => ({ sector, number: 1, start_s: 2 * i, end_s: 2 * i + 0.8, wait_s: 0 }));
const heat = { sectors: [0, 1, 2, 3].map((number) => ({ number, passes: number === 3 ? 0 : 1 })), round: { strokes } } as unknown as ToothHeat;

describe("the round at an instant", () => {
  it.each([
    [-3, "before", 0, 3],
    [0, "stroke", 0, 0.8],
    [0.9, "rest", 2, 1.1],
    [2.5, "stroke", 2, 0.3],
    [4.8, "done", undefined, 0],
    [99, "done", undefined, 0],
  ])("at %d s is in %s", (now, phase, sector, left) => {
    const moment = momentOf(strokes, now);
    expect([moment.phase, moment.stroke?.sector]).toEqual([phase, sector]);
    expect(moment.left).toBeCloseTo(left);
  });
  it("tells done, now, next, waiting and left out apart", () => {
    expect(standings(heat, momentOf(strokes, 0.9))).toEqual(["done", "waiting", "next", "left out"]);
    expect(standings(heat, momentOf(strokes, 4.1))).toEqual(["done", "now", "done", "left out"]);
  });
  it("never shows less time than is left", () => {
    expect([0.01, 0.9, 9.91, 10, 12.2].map(shownSeconds)).toEqual(["0.1", "0.9", "10.0", "10", "13"]);
  });
});

describe("the log", () => {
  it("moves what comes after a late or long stroke, and puts touches in the order of time", () => {
    const lines = entered(strokes, 99).map((line, i) => (i === 1 ? { ...line, late: 1, longer: 0.5 } : line));
    const events = eventsOf(lines, [{ sector: 2, after: 1, seconds: 0.4 }], null);
    expect(events.map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 0], ["stroke", 3], ["metal", 3], ["stroke", 5.5]]);
    expect(events[1]?.lasted_s).toBeCloseTo(1.3);
  });
  it("ends with the stop and holds only what was done", () => {
    expect(eventsOf(entered(strokes, 1), [], 1).map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 0], ["stopped", 1]]);
  });
});

describe("the ring", () => {
  it("has facial below and mesial right on the patient's right side, left on the left", () => {
    expect(pointAt(0, 10, true).y).toBeCloseTo(10);
    expect(pointAt(90, 10, true).x).toBeCloseTo(10);
    expect(pointAt(90, 10, false).x).toBeCloseTo(-10);
  });
  it("goes the shorter way, over zero too", () => {
    expect([sweep(350, 20), sweep(20, 350), sweep(0, 0)]).toEqual([30, -30, 360]);
    expect(piece({ inner: 5, outer: 9, right: true }, 330, 30)).toMatch(/^M-4\.5 7\.8A9 9 0 0 0 4\.5 7\.8L/);
  });
});
