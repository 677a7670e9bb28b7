import { describe, expect, it } from "vitest";
import { isReadAt } from "../src/scale/read";
import { newCase, stepAt, stepOf, withFurcation, withSites, withStep, type Furcation, type ToothDraft } from "../src/state/edits";
import { apart, finerStep, offStep, ownStep, rowOf } from "../src/state/entry";
import { rangeOf } from "../src/state/form";
import { placeOf } from "../src/state/place";
import { alike, hasReadings, toothMeant, withNewTooth, withoutTooth, withUnits } from "../src/state/teeth";

const made = (sites: object): ToothDraft => ({ number: 45, sites: { order: ["F", "L"], ...sites } });

describe("the step of the readings", () => {
  it("is half a millimetre in a new case, whose tooth states nothing else", () => {
    const [tooth] = newCase("K-1", "45")["teeth"] as ToothDraft[];
    expect(stepOf(tooth)).toBe(0.5);
    expect(Object.keys(tooth ?? {})).toEqual(["number", "sites"]);
  });
  it("is 1 mm where a kind has none, and the kind's own where it has", () => {
    expect(stepAt(made({}), "probing_depth")).toBe(1);
    const tooth = made({ step: { probing_depth: 0.5, bone_sounding: 1 } });
    expect([stepAt(tooth, "probing_depth"), stepAt(tooth, "bone_sounding"), stepOf(tooth)]).toEqual([0.5, 1, "by kind"]);
  });
  it("is asked about where a number lies between its marks, tenths in floating point too", () => {
    expect([offStep(3.5, 1), offStep([3, 3.5], 1), offStep({ beyond: 9.5 }, 1)]).toEqual([3.5, 3.5, 9.5]);
    expect([offStep(3, 1), offStep(0.3, 0.1), offStep("not measurable", 1), offStep({ value: 3.5, step: 0.5 }, 1)]).toEqual([null, null, null, null]);
    expect([finerStep(3.5), finerStep(3.3), finerStep(3.33)]).toEqual([0.5, 0.1, null]);
  });
  it("stays with the readings that were read to it when a coarser one is chosen", () => {
    const draft = withStep({ teeth: [made({ step: 0.5, probing_depth: { F: 3.5, L: [3, 2.5] } })] }, 0, 1);
    const [tooth] = draft["teeth"] as ToothDraft[];
    expect(tooth?.sites).toEqual({ order: ["F", "L"], step: 1, probing_depth: { F: { value: 3.5, step: 0.5 }, L: [3, { value: 2.5, step: 0.5 }] } });
    expect(ownStep({ value: 3.5, error: 0.6 }, 1)).toEqual({ value: 3.5, error: 0.6, step: 0.5 });
  });
});

describe("a row of readings", () => {
  it.each([
    ["3\t2\t3,5\t4\t2\t3", ["3", "2", "3,5", "4", "2", "3"]],
    ["3\n2\r\n3\n", ["3", "2", "3"]],
    ["3\t\t4", ["3", "", "4"]],
    ["3 2 3,5 4 2 3", ["3", "2", "3,5", "4", "2", "3"]],
    ["3, 2, 3.5, 4, 2, 3", ["3", "2", "3.5", "4", "2", "3"]],
    ["3,2,3.5,4,2,×", ["3", "2", "3.5", "4", "2", "×"]],
    ["3; 2; 3,5", ["3", "2", "3,5"]],
    ["3,5", null],
    ["3 3.5", null],
    ["3", null],
  ])("%j is spread over six sites, or is the entry of its cell", (text, found) => {
    expect(rowOf(text, 6)).toEqual(found);
  });
  it("is told from the repeats of one reading, which lie so far apart", () => {
    expect([apart([3, 4.5]), apart([3, { value: 5, error: 0.5 }, 4]), apart([3, "not measurable"]), apart(3), apart(undefined)]).toEqual([1.5, 2, 0, 0, 0]);
  });
});

describe("the sites of a tooth", () => {
  const sites = (tooth: object, added: string[]) => (withSites({ teeth: [tooth] }, 0, added)["teeth"] as ToothDraft[])[0]?.sites;
  it("are added to a tooth without any, with the usual step, and come to stand round the neck", () => {
    expect(sites({ number: 45 }, ["F", "L"])).toEqual({ order: ["F", "L"], step: 0.5 });
    expect(sites(made({ step: 1 }), ["M"])).toEqual({ order: ["F", "M", "L"], step: 1 });
    expect(sites({ number: 45, sites: { order: ["F", "30"] } }, ["M"])).toEqual({ order: ["F", "30", "M"] });
  });
});

describe("a furcation", () => {
  const graded = (furcation: Furcation[] | undefined, side: Furcation["side"], grade?: number) =>
    (withFurcation({ teeth: [{ ...made({}), furcation }] }, 0, side, grade, "Hamp")["teeth"] as ToothDraft[])[0];
  const named: Furcation[] = [{ side: "facial", grade: 1, scale: "Glickman" }, { side: "oral", grade: 2, scale: "Glickman" }];
  it("keeps the scale it was graded on, and so do the others, when its grade is changed", () => {
    expect(graded(named, "oral", 3)?.furcation).toEqual([named[0], { side: "oral", grade: 3, scale: "Glickman" }]);
  });
  it("is graded on the scale of the page where none was named, and leaves nothing behind", () => {
    expect(graded(undefined, "mesial", 1)?.furcation).toEqual([{ side: "mesial", grade: 1, scale: "Hamp" }]);
    expect(graded(named, "facial")?.furcation).toEqual([named[1]]);
    expect(Object.keys(graded([{ side: "oral", grade: 2, scale: "Hamp" }], "oral") ?? {})).toEqual(["number", "sites"]);
  });
});

describe("the teeth of a case", () => {
  it("are meant by ISO numbers, and by Universal ones that say so", () => {
    expect(["45", "45 iso", "29 universal", "1 universal", "16 Universal", "17 universal", "32 universal"].map(toothMeant)).toEqual([45, 45, 45, 18, 28, 38, 48]);
    expect(["29", "19", "99", "33 universal", "0 universal", "molar", ""].map(toothMeant)).toEqual(Array(7).fill(null));
  });
  it("are added with what they are and taken out again", () => {
    const draft = withNewTooth(newCase("K-1", "45"), 46, "neighbour");
    const teeth = draft["teeth"] as ToothDraft[];
    expect(teeth.map((tooth) => [tooth.number, tooth["role"]])).toEqual([[45, undefined], [46, "neighbour"]]);
    expect((withoutTooth(draft, 0)["teeth"] as ToothDraft[]).map((tooth) => tooth.number)).toEqual([46]);
    expect([hasReadings(made({ step: 1 })), hasReadings(made({ probing_depth: { F: 3 } }))]).toEqual([false, true]);
  });
  it("carry bridges by their units, without beds that lie under no pontic any more", () => {
    const one = withUnits({}, 0, [45, 46, 47], [46]);
    expect(one["bridges"]).toEqual([{ teeth: [45, 46, 47], pontics: [46] }]);
    const wished = { bridges: [{ teeth: [45, 46, 47], pontics: [46], material: "metal", beds: [{ tooth: 46 }] }] };
    expect(withUnits(wished, 0, [45, 46, 47], [])["bridges"]).toEqual([{ teeth: [45, 46, 47], pontics: [], material: "metal" }]);
    expect(withUnits(wished, 0, [], [])).toEqual({});
  });
  it("are confused only with a case of the same code that has one of them", () => {
    const cases = [{ reference: "K-1", teeth: [45, 46] }, { reference: "K-2", teeth: [45] }] as never;
    expect([alike(cases, "K-1", [46]).length, alike(cases, "K-1", [36]).length, alike(cases, "K-3", [45]).length]).toEqual([1, 0, 0]);
  });
});

describe("what was read", () => {
  const tooth: ToothDraft = {
    ...made({ bone_sounding: { F: 4, L: "not measurable", M: { beyond: 10 } }, crown_height: { F: [5, 5.5] } }),
    proximal_crest_from_film_mm: { distal: 3 },
  };
  it("is a number at the site, no word and no bound; a film shows the crest beside", () => {
    expect(["F", "L", "M", "D"].map((site) => isReadAt(tooth, "crest", site))).toEqual([true, false, false, true]);
    expect([isReadAt(tooth, "planned_edge", "F"), isReadAt(tooth, "gingival_margin", "F"), isReadAt(tooth, "sound_edge", "F")]).toEqual([true, true, false]);
    expect(isReadAt(tooth, "sulcus_base", "F")).toBe(false);
  });
});

describe("the place of a fault", () => {
  it("is named as the screen names it", () => {
    const one = [made({})];
    expect(placeOf("teeth[0].sites.probing_depth.F", one)).toMatchObject({ text: "tooth 45, probing depth at F", cell: "probing_depth F" });
    expect(placeOf("teeth[0].held.cut.DL (tooth 45)", one).text).toBe("tooth 45, cut fixed by hand at DL");
    expect(placeOf("teeth[0].root.length_mm (tooth 45)", one)).toMatchObject({ text: "tooth 45, root length, mm", field: "root.length_mm" });
    expect(placeOf("patient.reference", one).text).toBe("your code, never a name");
    expect(placeOf("teeth[1].sites.cej_height.L", [...one, { number: 46 }]).text).toBe("tooth 46, height of the CEJ at L");
    expect(placeOf("visits[0].plate_contact_cm2", one)).toMatchObject({ text: "plate contact", field: null });
    expect(placeOf("teeth[0].not_known_mm (tooth 45)", one).text).toBe("tooth 45, not known");
  });
  it("is named by what stands beside it where the case is not open", () => {
    expect(placeOf("teeth[0].sites.bone_sounding[2] (tooth 35, ML)", []).text).toBe("tooth 35, bone sounding at ML");
    expect(placeOf("teeth[0].number", []).text).toBe("number of the tooth");
  });
});

describe("the range of a kind", () => {
  const number = { type: "number", minimum: 0, maximum: 15 };
  it("is found inside the forms a reading may have", () => {
    const sites = { properties: { probing_depth: { anyOf: [{ type: "array", items: {} }, { type: "object", patternProperties: { F: { anyOf: [{ enum: ["x"] }, number] } } }] } } };
    const known = { properties: { teeth: { items: { properties: { sites } } } } };
    expect(rangeOf(known as never, "probing_depth")).toEqual({ low: 0, high: 15 });
    expect(rangeOf(known as never, "elsewhere")).toBeNull();
  });
});
