import { describe, expect, it } from "vitest";
import { begin, put, undo } from "../src/state/history";
import { merge, rebased, same, whereOf, withAt } from "../src/state/merge";

const tooth = (number: number, sites: object = {}, more: object = {}) => ({ number, ...more, sites: { order: ["F", "L"], ...sites } });
const of = (...teeth: object[]) => ({ patient: { reference: "K-1" }, teeth });
const base = of(tooth(35, { probing_depth: { F: 3, L: [2, 2.5] } }, { bleeding: ["F"], state: "healthy" }), tooth(36));

describe("two drafts of one case", () => {
  it("keep what each changed, whatever the order of keys and teeth", () => {
    const mine = of(tooth(35, { probing_depth: { F: 4, L: [2, 2.5] } }, { bleeding: ["F", "L"], state: "healthy" }), tooth(36));
    const theirs = of(tooth(37), tooth(36, { cej_height: { F: 1 } }), tooth(35, { probing_depth: { L: [2, 2.5], F: 3 } }, { bleeding: [], vital: true }));
    const { document, clashes } = merge(base, mine, theirs);
    expect(clashes).toEqual([]);
    expect(same(document, of(tooth(37), tooth(36, { cej_height: { F: 1 } }), tooth(35, { probing_depth: { F: 4, L: [2, 2.5] } }, { bleeding: ["L"], vital: true })))).toBe(true);
  });
  it("clash where both changed a field, repeats at a site being one, and mine stands until one is chosen", () => {
    const mine = of(tooth(35, { probing_depth: { F: 3, L: [2, 3] } }, { bleeding: ["F"], state: "inflamed" }), tooth(36));
    const theirs = of(tooth(36), tooth(35, { probing_depth: { F: 3, L: [2, 2.5, 4] } }, { bleeding: ["F"], state: "inflamed" }));
    const { document, clashes } = merge(base, mine, theirs);
    expect(clashes).toMatchObject([{ mine: [2, 3], theirs: [2, 2.5, 4] }]);
    expect(whereOf(document, clashes[0]?.path ?? [])).toBe("teeth[1].sites.probing_depth.L");
    const chosen = withAt(document, clashes[0]?.path ?? [], clashes[0]?.theirs);
    expect(same(chosen, theirs)).toBe(true);
    expect(same(document, chosen)).toBe(false);
  });
  it("clash on a reading with its own error as a whole", () => {
    const one = (reading: object) => of(tooth(35, { cej_height: { F: reading } }));
    const { clashes } = merge(one({ value: 1 }), one({ value: 2 }), one({ value: 1, error: 0.6 }));
    expect(clashes).toMatchObject([{ mine: { value: 2 }, theirs: { value: 1, error: 0.6 } }]);
  });
  it("clash on a reading that one cleared, and on a tooth that one removed, as a whole", () => {
    const cleared = of(tooth(35, { probing_depth: { L: [2, 2.5] } }, { bleeding: ["F"], state: "healthy" }));
    const changed = of(tooth(35, { probing_depth: { F: 5, L: [2, 2.5] } }, { bleeding: ["F"], state: "healthy" }), tooth(36, { cej_height: { F: 1 } }));
    const { document, clashes } = merge(base, cleared, changed);
    expect(clashes.map(({ mine, theirs }) => [mine, theirs])).toEqual([[undefined, 5], [undefined, tooth(36, { cej_height: { F: 1 } })]]);
    expect(same(document, cleared)).toBe(true);
    const back = clashes.reduce((draft, clash) => withAt(draft, clash.path, clash.theirs), document);
    expect(same(back, changed)).toBe(true);
    const other = merge(base, changed, cleared);
    expect(same(other.document, changed)).toBe(true);
    expect(same(other.clashes.reduce((draft, clash) => withAt(draft, clash.path, clash.theirs), other.document), cleared)).toBe(true);
  });
  it("lose the mark of an answer that both gave for different plans, so that it is asked again", () => {
    const visit = (mark: string) => ({ visits: [{ opened_at: "2026-01-02T03:04:05Z", room: { masks: "yes" }, given_for: { masks: mark, plate: "same" } }] });
    const { document, clashes } = merge(visit("a"), visit("b"), visit("c"));
    expect(clashes).toEqual([]);
    expect(document["visits"]).toEqual([{ opened_at: "2026-01-02T03:04:05Z", room: { masks: "yes" }, given_for: { plate: "same" } }]);
  });
  it("keep a drug that one added while the other added another", () => {
    const drugs = (...names: string[]) => ({ patient: { drugs: names } });
    const { document, clashes } = merge(drugs("a"), drugs("a", "warfarin"), drugs("phenytoin", "a"));
    expect([document, clashes]).toEqual([drugs("phenytoin", "a", "warfarin"), []]);
    expect(merge(drugs("a", "b"), drugs("b", "c"), drugs("a", "b", "d")).document).toEqual(drugs("b", "d", "c"));
  });
  it("undo steps of this window alone", () => {
    const mine = put(begin<Record<string, unknown>>(base), { ...base, note: "mine" });
    const { history } = rebased(mine, base, { ...base, invented: true });
    expect(history.now).toMatchObject({ note: "mine", invented: true });
    expect(same(undo(history).now, { ...base, invented: true })).toBe(true);
  });
});
