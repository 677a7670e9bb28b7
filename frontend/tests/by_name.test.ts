import { describe, expect, it } from "vitest";
import { listed, refusedOf, withBack } from "../src/state/by_name";

const of = (drugs: string[], more: object = {}) => ({ patient: { drugs }, ...more });
const told = (where: string, value: string | null) => ({ where, value, what: "", allowed: "", page: "" });
const held = of(["a tablet", "warfarin", "phenytoin"]);

describe("what a save may not drop", () => {
  it("is named by the place and the value of the refusal, among what was dropped", () => {
    const sent = of(["phenytoin"]);
    const warfarin = [{ field: "drugs", entry: "warfarin" }];
    expect(refusedOf([told("patient.drugs", '"warfarin"')], sent, held)).toEqual(warfarin);
    expect(refusedOf([told("patient.stops", '"warfarin"'), told("patient.drugs", null), told("patient.drugs", '"phenytoin"')], sent, held)).toEqual([]);
    expect(refusedOf([told("teeth[0].number", '"warfarin"')], sent, held)).toEqual([]);
  });
  it("is known by a value that was shortened, with a sign that no line shows", () => {
    const long = `war\u200dfarin ${"x".repeat(90)}`;
    expect(refusedOf([told("patient.drugs", `"war?farin ${"x".repeat(40)}`)], of([]), of(["warm", long]))).toEqual([{ field: "drugs", entry: long }]);
  });
  it("is put back at its place into every step, with all else as it was typed", () => {
    const history = { past: [of(["a tablet"]), held], now: of(["aspirin", "a tablet"], { note: "x" }), future: [of([])] };
    const back = withBack(history, [{ field: "drugs", entry: "warfarin" }], held);
    expect([...back.past, back.now, ...back.future].map((draft) => listed(draft, "drugs"))).toEqual([
      ["a tablet", "warfarin"],
      ["a tablet", "warfarin", "phenytoin"],
      ["a tablet", "warfarin", "aspirin"],
      ["warfarin"],
    ]);
    expect(back.now.note).toBe("x");
    expect(back.past[1]).toBe(held);
  });
});
