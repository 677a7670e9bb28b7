import { describe, expect, it } from "vitest";
import type { HeatStroke, RoundMark, ToothHeat } from "../src/api/client";
import { facingOf, piece, pointAt, sweep } from "../src/scale/ring";
import { begunMark, entered, eventsOf, joined, leftOutMark, markOf, momentOf, shownSeconds, standing, standings, strokeAt, strokeOf, touched } from "../src/state/round";

const strokes: HeatStroke[] = [0, 2, 1].map((sector, i) => ({ sector, number: 1, start_s: 2 * i, end_s: 2 * i + 0.8, wait_s: 0 }));
const heat = { sectors: [0, 1, 2, 3].map((number) => ({ number, passes: number === 3 ? 0 : 1 })), round: { strokes } } as unknown as ToothHeat;

const begun = (i: number, at_s: number): RoundMark => ({ key: `begun ${i}`, kind: "stroke", at_s, sector: strokes[i]?.sector ?? null, lasted_s: 0.8 });

describe("a round as planned at an instant", () => {
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
    expect([0, 0.01, 1, 9.91, 12.2].map(shownSeconds)).toEqual(["0", "1", "1", "10", "13"]);
  });
});

describe("a running round", () => {
  const at = (now: number, ...marks: RoundMark[]) => {
    const { phase, over, left } = standing(strokes, marks, now);
    return [phase, over, Math.round(left * 10) / 10];
  };
  it("waits for the word, whatever the clock has passed", () => {
    expect([-3, 0, 99, 99999].map((now) => at(now))).toEqual([["before", 0, 3], ["ready", 0, 0], ["ready", 0, 0], ["ready", 0, 0]]);
    expect(at(99999, begun(0, 0))).toEqual(["ready", 1, 0]);
  });
  it("begins no stroke before its earliest moment, which moves with what was late", () => {
    expect([0.5, 1, 2].map((now) => at(now, begun(0, 0)))).toEqual([["stroke", 0, 0.3], ["rest", 1, 1], ["ready", 1, 0]]);
    expect([8, 9, 9.5].map((now) => at(now, begun(0, 7.5)))).toEqual([["stroke", 0, 0.3], ["rest", 1, 0.5], ["ready", 1, 0]]);
    expect(begunMark(strokes, [begun(0, 7.5)], 9.4)).toBeNull();
    expect(begunMark(strokes, [begun(0, 7.5)], 9.5)).toMatchObject({ key: "begun 1", kind: "stroke", at_s: 9.5, sector: 2 });
  });
  it("goes by rests and heat alone, not by the hands it was planned with", () => {
    const slow = strokes.map((stroke, i) => ({ ...stroke, start_s: stroke.start_s + 10 * i, end_s: stroke.end_s + 10 * i, earliest_s: stroke.start_s }));
    expect(standing(slow, [begun(0, 0)], 2).phase).toBe("ready");
    expect(standing(slow, [begun(0, 4)], 5.9).phase).toBe("rest");
  });
  it("is over when each stroke was begun or left out, and not before the last has ended", () => {
    const out = leftOutMark(strokes, [begun(0, 0)], 1);
    expect(out?.key).toBe("left out 1");
    expect(leftOutMark(strokes, [begun(0, 0)], 0.5)).toBeNull();
    const marks = [begun(0, 0), out as RoundMark, begun(2, 5)];
    expect([at(5.5, ...marks), at(6, ...marks)]).toEqual([["stroke", 2, 0.3], ["done", 3, 0]]);
  });
  it("does not count what a page of an earlier version marked by its clock", () => {
    expect(at(50, { ...begun(0, 0), key: "stroke 0" })).toEqual(["ready", 0, 0]);
  });
});

describe("the marks", () => {
  it("belong to the last stroke that had begun", () => {
    const marks = [begun(0, 1), begun(1, 8)];
    expect([-2, 0, 7.9, 8, 99].map((at) => strokeAt(strokes, marks, at))).toEqual([0, 0, 0, 1, 1]);
    const otherwise = markOf("otherwise", strokes, marks, 9, "x");
    expect([otherwise.key, otherwise.sector, otherwise.lasted_s]).toEqual(["otherwise 1", 2, null]);
    const metal = markOf("metal", strokes, marks, -1, "x", 0.4);
    expect(metal).toEqual({ key: "metal x", kind: "metal", at_s: 0, sector: 0, lasted_s: 0.4 });
    expect([strokeOf(strokes, marks, otherwise), strokeOf(strokes, marks, { ...metal, at_s: 8.5 })]).toEqual([1, 1]);
  });
  it("of two sources are one list without doubles, in the order of time", () => {
    const [one, two] = [markOf("metal", strokes, [], 3, "a"), markOf("otherwise", strokes, [], 1, "b")];
    expect(joined([one], [two, one]).map((mark) => mark.kind)).toEqual(["otherwise", "metal"]);
  });
});

describe("the log", () => {
  const all = [begun(0, 1), begun(1, 8), begun(2, 20)];
  it("starts from what was said, less what was left out", () => {
    const out = leftOutMark(strokes, all.slice(0, 1), 5) as RoundMark;
    const lines = entered(strokes, [...all.slice(0, 1), out]);
    expect(lines.map(({ done, at, marked }) => [done, at, marked])).toEqual([[true, 1, false], [false, null, true], [false, null, false]]);
    expect(touched(strokes, [...all, markOf("metal", strokes, all, 8.5, "x")])).toEqual([{ after: 1, at: 8.5, seconds: null }]);
  });
  it("has strokes when they were said to begin, those ticked afterwards where the plan has them, and touches in the order of time", () => {
    const lines = entered(strokes, all.slice(0, 2)).map((line, i) => (i === 1 ? { ...line, longer: 0.5 } : { ...line, done: true }));
    const events = eventsOf(lines, [{ after: 1, at: 9, seconds: 0.4 }, { after: 0, at: null, seconds: 0.2 }], null);
    expect(events.map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 1], ["metal", 1], ["stroke", 8], ["metal", 9], ["stroke", 10.5]]);
    expect(events[2]?.lasted_s).toBeCloseTo(1.3);
    expect(events.map(({ sector }) => sector)).toEqual([0, 0, 2, 2, 1]);
  });
  it("ends with the stop and holds only what was done", () => {
    expect(eventsOf(entered(strokes, all.slice(0, 1)), [], 3).map(({ kind, at_s }) => [kind, at_s])).toEqual([["stroke", 1], ["stopped", 3]]);
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
