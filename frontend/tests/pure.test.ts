import { describe, expect, it } from "vitest";
import { handlesOf, siteNear, stepped } from "../src/scale/handles";
import { frameOf, pathOf, spread, stationAt, unrolled } from "../src/scale/strip";
import { withBleeding, withEntry, withHold, withoutHold, type ToothDraft } from "../src/state/edits";
import { shown, typed } from "../src/state/entry";
import { begin, put, redo, undo } from "../src/state/history";
import { linesOf } from "../src/scale/lines";
import { fieldAt, shapeOf, withValue } from "../src/state/form";
import { answerOf, givenFor, openVisit, withAnswer, withRole } from "../src/state/visit";
import PLACES from "../../tests/wording/places.json";
import { letters, measured, nameBy, place, siteLetters, t } from "../src/words";
import { flat } from "../words-plugin";

const stations = Array.from({ length: 36 }, (_, i) => i * 10);
const tooth = (number: number) => ({
  number,
  stations_deg: stations,
  arc_mm: stations.map((d) => (d / 360) * 18),
  perimeter_mm: 18,
  sites: ["F", "MF", "ML", "L", "DL", "DF"],
  sites_deg: [0, 60, 120, 180, 240, 300],
});

describe("the neck unrolled", () => {
  it("has facial in the middle and oral at both ends", () => {
    const places = unrolled(tooth(45));
    expect(places).toHaveLength(37);
    expect([places[0]?.station, places[18]?.station, places[36]?.station]).toEqual([18, 0, 18]);
    expect(places[18]?.arc).toBeCloseTo(9);
    for (let i = 1; i < places.length; i++) expect((places[i]?.arc ?? 0) - (places[i - 1]?.arc ?? 0)).toBeCloseTo(0.5);
  });
  it("shows mesial on the right for a right tooth and on the left for a left one, as seen from outside", () => {
    const at = (number: number, station: number) => unrolled(tooth(number)).find((p) => p.station === station)?.arc ?? 0;
    for (const right of [11, 16, 41, 47]) expect(at(right, 9)).toBeGreaterThan(at(right, 0));
    for (const left of [21, 26, 31, 37]) expect(at(left, 9)).toBeLessThan(at(left, 0));
  });
  it("finds the station under a place and draws through every station", () => {
    const heights = stations.map(() => 1);
    const box = { width: 400, height: 100, left: 40, right: 60, top: 10, bottom: 10 };
    const frame = frameOf(tooth(36) as never, [heights], box);
    for (const station of [0, 5, 9, 30]) {
      expect(stationAt(frame, frame.x(frame.places.find((p) => p.station === station)?.arc ?? 0))).toBe(station);
    }
    expect(pathOf(frame, heights).split("C")).toHaveLength(37);
  });
});

describe("the strip", () => {
  const heights = stations.map((_, i) => (i === 0 ? 3 : 1));
  const frame = frameOf(tooth(45) as never, [heights], { width: 400, height: 100, left: 40, right: 60, top: 10, bottom: 15 });
  it("is the whole neck wide, and what is higher lies further up", () => {
    expect([frame.x(0), frame.x(18)]).toEqual([40, 340]);
    expect([frame.y(1 - 1.6), frame.y(3 + 0.6)].map(Math.round)).toEqual([85, 10]);
  });
  it("has a line at its heights", () => {
    const places = [...pathOf(frame, heights).matchAll(/(-?[\d.]+),(-?[\d.]+)/g)].map((found) => [Number(found[1]), Number(found[2])]);
    expect(places[0]).toEqual([40, expect.closeTo(frame.y(1), 2)]);
    expect(places.find(([x]) => x === 190)).toEqual([190, expect.closeTo(frame.y(3), 2)]);
  });
});

describe("labels", () => {
  it("keep their order and their distance inside the box", () => {
    const placed = spread([50, 52, 51, 90, 100], 16, 26, 120);
    const sorted = [...placed].sort((a, b) => a - b);
    for (let i = 1; i < sorted.length; i++) expect((sorted[i] ?? 0) - (sorted[i - 1] ?? 0)).toBeGreaterThanOrEqual(16);
    expect(Math.max(...placed)).toBeLessThanOrEqual(120);
    expect(placed[0]).toBeLessThan(placed[1] ?? 0);
  });
});

describe("handles", () => {
  it("stand at the sites and half-way", () => {
    const handles = handlesOf(tooth(45), { cut: { "30": -1 } });
    expect(handles.map((h) => h.site)).toEqual(["F", "MF", "ML", "L", "DL", "DF", "30", "90", "150", "210", "270", "330"]);
    expect(handles.find((h) => h.site === "30")?.heldCut).toBe(true);
    expect(handles.filter((h) => h.heldCut)).toHaveLength(1);
  });
  it("move by tenths and know the nearest site round the ring", () => {
    expect(stepped(1.26, 1)).toBeCloseTo(1.4);
    expect(stepped(-0.1, -5)).toBeCloseTo(-0.6);
    expect(siteNear(tooth(45), 35)).toBe(0);
    expect(siteNear(tooth(45), 20)).toBe(3);
  });
});

describe("typed readings", () => {
  it.each([
    ["3", 3],
    ["3,5", 3.5],
    ["−0.5", -0.5],
    ["3.0 3.5", [3, 3.5]],
    [">10", { beyond: 10 }],
    ["3.0 ±0.6", { value: 3, error: 0.6 }],
    ["×", "not measurable"],
    ["", undefined],
  ])("%s", (text, entry) => {
    expect(typed(text)).toEqual({ ok: true, entry });
    expect(typed(shown(entry as never))).toEqual({ ok: true, entry });
  });
  it.each(["abc", "3..5", "--2", "3.0±", "1e5"])("%s is refused", (text) => {
    expect(typed(text)).toEqual({ ok: false });
  });
});

describe("edits", () => {
  const draft = { teeth: [{ number: 45, sites: { order: ["F"], probing_depth: { F: 3 } } }] };
  const first = (d: object) => (d as { teeth: ToothDraft[] }).teeth[0] as ToothDraft;
  it("never change the draft they start from", () => {
    const frozen = JSON.stringify(draft);
    withEntry(draft, 0, "probing_depth", "F", 4);
    withHold(draft, 0, "cut", "F", -1);
    expect(JSON.stringify(draft)).toBe(frozen);
  });
  it("put, take away and drop an empty kind", () => {
    expect(first(withEntry(draft, 0, "probing_depth", "F", [3, 4])).sites?.["probing_depth"]).toEqual({ F: [3, 4] });
    expect(first(withEntry(draft, 0, "probing_depth", "F", undefined)).sites).toEqual({ order: ["F"] });
    expect(first(withBleeding(draft, 0, "F", true)).bleeding).toEqual(["F"]);
  });
  it("hold and let go, singly and all", () => {
    const held = withHold(withHold(draft, 0, "cut", "F", -1), 0, "finish", "90", 0.5);
    expect(first(withoutHold(held, 0, "cut", "F")).held).toEqual({ finish: { "90": 0.5 } });
    expect(first(withoutHold(held, 0)).held).toBeUndefined();
  });
});

describe("history", () => {
  it("undoes and redoes, one entry a gesture, 200 deep", () => {
    let h = begin(0);
    for (let i = 1; i <= 300; i++) h = put(h, i);
    expect(h.past).toHaveLength(200);
    h = put(h, 301, true);
    expect(undo(h).now).toBe(299);
    expect(redo(undo(h)).now).toBe(301);
    expect(put(undo(h), 7).future).toHaveLength(0);
  });
});

it("flattens the catalogue to dotted keys", () => {
  expect(flat({ a: { b: "x" }, c: "y" })).toEqual({ "a.b": "x", c: "y" });
});

it("names a place in words and letters of its jaw, and both sites in the middle third between them", () => {
  const angles = [0, 40, 110, 205, 220, 260, 330, 350];
  expect(angles.map((deg) => place(deg, 16))).toEqual([
    "facial",
    "mesiofacial",
    "mesiopalatal",
    "between palatal and distopalatal",
    "distopalatal",
    "distal",
    "between distofacial and facial",
    "facial",
  ]);
  expect(place(180, 46, "there")).toBe("lingually");
  expect(angles.map((deg) => letters(deg, 16))).toEqual(["F", "MF", "MP", "P/DP", "DP", "D", "DF/F", "F"]);
});

it("names every place as papers and terminal do", () => {
  for (const { facial_letter, palatal_letter, tooth, places } of PLACES) {
    nameBy({ facial_letter, palatal_letter });
    const said = places.map((_, fifth) => [letters(5 * fifth, tooth), place(5 * fifth, tooth), place(5 * fifth, tooth, "there")]);
    expect(said).toEqual(places);
  }
  nameBy({ facial_letter: "F", palatal_letter: "P" });
});

it("writes sites as the practice does", () => {
  nameBy({ facial_letter: "B", palatal_letter: "L" });
  expect(["F", "ML", "45"].map((site) => siteLetters(site, 16))).toEqual(["B", "ML", "45°"]);
  expect(place(60, 16)).toBe("mesiobuccal");
  nameBy({ facial_letter: "F", palatal_letter: "P" });
  expect(["F", "ML"].map((site) => siteLetters(site, 16))).toEqual(["F", "MP"]);
  expect(siteLetters("ML", 46)).toBe("ML");
});

it("says one of a thing as one, and any other number as more", () => {
  expect([1, 2, 0].map((count) => t("screen.round.unanswered", { count }))).toEqual([
    "1 question has not been answered.",
    "2 questions have not been answered.",
    "0 questions have not been answered.",
  ]);
});

describe("the form of the findings", () => {
  const known = {
    properties: {
      patient: { properties: { phenotype: { enum: ["thin", "thick"] } } },
      teeth: {
        items: {
          properties: {
            vital: { type: "boolean" },
            mobility: { properties: { grade: { type: "integer", minimum: 0, maximum: 3 } } },
            overgrowth: { properties: { controlled_since: { type: "string", format: "date" } } },
            root: { properties: { length_mm: { type: "number", minimum: 5, maximum: 35 } } },
            visible_aspects: { type: "array", items: { enum: ["facial", "oral"] } },
          },
        },
      },
    },
  };
  it.each([
    ["patient.phenotype", { kind: "words", words: ["thin", "thick"] }],
    ["vital", { kind: "flag", words: [] }],
    ["mobility.grade", { kind: "words", words: ["0", "1", "2", "3"] }],
    ["overgrowth.controlled_since", { kind: "date", words: [] }],
    ["root.length_mm", { kind: "amount", words: [], low: 5, high: 35 }],
    ["visible_aspects", { kind: "several", words: ["facial", "oral"] }],
    ["ankylosis", null],
  ])("takes from the case schema what %s may hold", (path, shape) => {
    expect(shapeOf(known as never, path)).toEqual(shape);
  });

  const draft = { patient: { reference: "T" }, teeth: [{ number: 45, state: "overgrown", overgrowth: { cause: "drug" } }] };
  const first = (d: object) => (d as { teeth: Record<string, unknown>[] }).teeth[0];
  it("puts beside a grade the scale it is of, and takes both away together", () => {
    const graded = withValue(draft, 0, fieldAt("mobility.grade"), 2);
    expect(first(graded)?.["mobility"]).toEqual({ grade: 2, scale: "Miller" });
    expect(first(withValue(graded, 0, fieldAt("mobility.grade"), undefined))?.["mobility"]).toBeUndefined();
  });
  it("drops the cause of an overgrowth with the overgrowth, and writes of the patient into the patient", () => {
    expect(first(withValue(draft, 0, fieldAt("state"), "healthy"))).toEqual({ number: 45, state: "healthy" });
    expect(withValue(draft, 0, fieldAt("patient.hygiene"), "poor")["patient"]).toEqual({ reference: "T", hygiene: "poor" });
  });
});

describe("answers at the chair", () => {
  const draft = { visits: [{ date: "2026-01-01", kind: "older" }, { date: "2026-02-01", kind: "cut", opened_at: "t" }] };
  it("go into the last visit the program opened, each to its own list", () => {
    let next: object = withAnswer(draft, "drugs", "blood_thinner", 46, "no");
    next = withAnswer(next as never, "place", "bone_exposed", 46, "yes");
    next = withAnswer(next as never, "room", "masks", 46, "yes");
    next = withRole(next as never, "plate", "DN");
    expect(openVisit(next as never)).toEqual({
      ...draft.visits[1],
      screening: { blood_thinner: "no" },
      teeth: [{ number: 46, answers: { bone_exposed: "yes" } }],
      room: { masks: "yes" },
      roles: { plate: "DN" },
    });
    expect((next as typeof draft).visits[0]).toBe(draft.visits[0]);
    expect(answerOf(openVisit(next as never), "place", "bone_exposed", 45)).toBeNull();
  });
  it("go into the visit of today, not into the one before it that the program opened too", () => {
    const visits = [...draft.visits, { date: "2026-03-01", kind: "cut", opened_at: "u" }];
    const next = withAnswer({ visits }, "patient", "consent", 46, "yes");
    expect(openVisit(next)).toEqual({ ...visits[2], screening: { consent: "yes" } });
    expect((next as { visits: unknown[] })["visits"][1]).toBe(visits[1]);
  });
  it("that speak of the cut carry the mark of the plan they were given for, and lose it with the answer", () => {
    let next = withAnswer(draft, "room", "right_patient", 46, "yes", "aa");
    next = withAnswer(next, "place", "thin_over_bone", 46, "no", "aa");
    next = withAnswer(next, "tooth", "acute_infection", 46, "no");
    next = withAnswer(next, "place", "thin_over_bone", 46, "no", "bb");
    const visit = openVisit(next);
    expect(visit?.given_for).toEqual({ right_patient: "aa" });
    expect(visit?.teeth).toEqual([{ number: 46, answers: { thin_over_bone: "no", acute_infection: "no" }, given_for: { thin_over_bone: "bb" } }]);
    expect(givenFor(visit, "place", "thin_over_bone", 46)).toBe("bb");
    expect(givenFor(visit, "place", "thin_over_bone", 45)).toBeNull();
    expect(givenFor(visit, "room", "right_patient", 45)).toBe("aa");
    expect(openVisit(withAnswer(next, "room", "right_patient", 46, null, "aa"))?.given_for).toEqual({});
  });
  it("are absent when they were taken back, never a no", () => {
    const given = withAnswer(draft, "patient", "consent", 46, "yes");
    expect(openVisit(withAnswer(given, "patient", "consent", 46, null))?.screening).toEqual({});
    expect(openVisit({ visits: [{ date: "d", kind: "k" }] })).toBeNull();
  });
});

describe("lines of a route", () => {
  const flat = (height: number) => stations.map(() => height);
  const level = (height: number) => ({ mean_height_mm: flat(height) });
  const levels = { planned_edge: level(8), sound_edge: level(4), gingival_margin: level(3), sulcus_base: level(1), crest: level(0) };
  const route = { name: "soft tissue only", cut_line_height_mm: flat(2), finish_line_height_mm: flat(2), rest_line: { median_height_mm: flat(2) } };
  const names = (change: object) => linesOf({ levels } as never, { ...route, ...change } as never, false).map((line) => line.name);
  it("are named after what they are in that route", () => {
    expect(names({})).toContain("cut_line");
    expect(names({ name: "restore without lengthening", lengthens: false })).not.toContain("cut_line");
    const flap = names({ operations: ["bone"], bone_reduction_mm: flat(1), crest_after_height_mm: flat(-1) });
    expect(flap).toContain("sutured_line");
    expect(flap).toContain("crest_after");
  });
  it("have the settled margin as the plan was stored: its median, in older plans its mean", () => {
    const settled = (rest_line: object) => linesOf({ levels } as never, { ...route, rest_line } as never, false).find((line) => line.name === "rest_line");
    expect(settled({ median_height_mm: flat(2), mean_height_mm: null })?.heights).toEqual(flat(2));
    expect(settled({ mean_height_mm: flat(1) })?.heights).toEqual(flat(1));
  });
  it("stand lower on a tooth that is raised, under an opposing tooth that stays", () => {
    const raised = { name: "extrusion first", extrusion_mm: 2, crest_after_height_mm: flat(-2), margin_after_height_mm: flat(1), bone_reduction_mm: flat(0) };
    const lines = linesOf({ levels } as never, { ...route, ...raised } as never, false);
    expect(lines.find((line) => line.name === "planned_edge")?.heights[0]).toBe(6);
    expect(lines.map((line) => line.name)).toEqual(expect.arrayContaining(["margin_today", "crest_today", "margin_after", "crest_after"]));
    expect(lines.map((line) => line.name)).not.toContain("gingival_margin");
  });
});

it("reads a measure with its unit", () => {
  expect([measured(1.25, "mm"), measured(0.126, "share"), measured(1.005, "ratio"), measured(null, "mm")]).toEqual([
    "1.3 mm",
    "13 %",
    "1.00",
    "–",
  ]);
});
