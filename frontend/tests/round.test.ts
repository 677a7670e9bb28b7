import { describe, expect, it } from "vitest";
import type { HeatStroke, ToothHeat } from "../src/api/client";
import { facingOf, piece, pointAt, sweep } from "../src/scale/ring";
import { entered, eventsOf, joined, markOf, momentOf, shownSeconds, standings, strokeAt, strokesOver, touched } from "../src/state/round";

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

describe("the marks", () => {
  it("say of each stroke once that its time was over, in the span that was watched", () => {
    expect(strokesOver(strokes, -5, 99).map(({ key, at_s }) => [key, at_s])).toEqual([["stroke 0", 0], ["stroke 1", 2], ["stroke 2", 4]]);
    expect(strokesOver(strokes, 0.8, 2.8).map(({ key }) => key)).toEqual(["stroke 1"]);
  });
  it("belong to the last stroke that had begun", () => {
    expect([-2, 0, 1.9, 2, 99].map((at) => strokeAt(strokes, at))).toEqual([0, 0, 0, 1, 2]);
    const mark = markOf("left out", strokes, 2.9, "x");
    expect([mark.key, mark.sector, mark.lasted_s]).toEqual(["left out 1", 2, null]);
    expect(markOf("metal", strokes, -1, "x", 0.4)).toEqual({ key: "metal x", kind: "metal", at_s: 0, sector: 0, lasted_s: 0.4 });
  });
  it("of two sources are one list without doubles, in the order of time", () => {
    const [one, two] = [markOf("metal", strokes, 3, "a"), markOf("otherwise", strokes, 1, "b")];
    expect(joined([one], [two, one]).map((mark) => mark.kind)).toEqual(["otherwise", "metal"]);
  });
});

describe("the log", () => {
  const all = strokesOver(strokes, -1, 99);
  it("starts from what was seen, less what was marked as left out", () => {
    const lines = entered(strokes, [...all.slice(0, 2), markOf("left out", strokes, 2.5, "x")]);
    expect(lines.map(({ done, marked }) => [done, marked])).toEqual([[true, false], [false, true], [false, false]]);
    expect(touched(strokes, [markOf("metal", strokes, 2.5, "x")])).toEqual([{ after: 1, at: 2.5, seconds: null }]);
  });
  it("moves what comes after a late or long stroke, and puts touches in the order of time", () => {
    const lines = entered(strokes, all).map((line, i) => (i === 1 ? { ...line, late: 1, longer: 0.5 } : line));
    const events = eventsOf(lines, [{ after: 1, at: 3, seconds: 0.4 }, { after: 0, at: null, seconds: 0.2 }], null);
    expect(events.map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 0], ["metal", 0], ["stroke", 3], ["metal", 3], ["stroke", 5.5]]);
    expect(events[2]?.lasted_s).toBeCloseTo(1.3);
    expect(events.map(({ sector }) => sector)).toEqual([0, 0, 2, 2, 1]);
  });
  it("ends with the stop and holds only what was done", () => {
    expect(eventsOf(entered(strokes, all.slice(0, 1)), [], 1).map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 0], ["stopped", 1]]);
  });
});

describe("the ring", () => {
  it("lies as on a chart of the teeth: facial above in the upper jaw, mesial towards the middle of the mouth", () => {
    const facial = (number: number) => pointAt(0, 10, facingOf(number)).y;
    const mesial = (number: number) => pointAt(90, 10, facingOf(number)).x;
    expect([16, 26, 36, 46].map(facial)).toEqual([-10, -10, 10, 10]);
    expect([16, 26, 36, 46].map(mesial)).toEqual([10, -10, -10, 10]);
  });
  it("turns as a tooth does that is seen from its biting end", () => {
    // Facial, mesial, oral: with the clock on the patient's upper right and lower left, against it on the other two.
    const turn = (number: number) => Math.sign(pointAt(0, 1, facingOf(number)).x * pointAt(90, 1, facingOf(number)).y - pointAt(0, 1, facingOf(number)).y * pointAt(90, 1, facingOf(number)).x);
    expect([16, 26, 36, 46].map(turn)).toEqual([1, -1, 1, -1]);
  });
  it("goes the shorter way, over zero too", () => {
    expect([sweep(350, 20), sweep(20, 350), sweep(0, 0)]).toEqual([30, -30, 360]);
    expect(piece({ inner: 5, outer: 9, facing: facingOf(46) }, 330, 30)).toMatch(/^M-4\.5 7\.8A9 9 0 0 0 4\.5 7\.8L/);
  });
});
