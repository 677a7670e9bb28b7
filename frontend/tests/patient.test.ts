import { expect, test } from "vitest";
import { listed, withBack } from "../src/state/by_name";
import { withValue } from "../src/state/form";
import { allFacts, factsOf, fieldsOf, mayBeAnswered, withClassified, withFact } from "../src/state/patient";

const draft = { format: "collum-case/3", patient: { reference: "T-1" }, teeth: [] };
const text = { type: "string" };
const answered = { properties: { which: text, years: { type: "number" }, answer: { properties: {} } } };
const known = { properties: { patient: { properties: { history: { properties: { bone_drugs: answered, asthma: { properties: { note: text } } } } } } } };

test("what may be stated of a fact is what the schema says", () => {
  expect(allFacts(known)).toEqual(["bone_drugs", "asthma"]);
  expect(fieldsOf(known, "bone_drugs")).toEqual(["which", "years"]);
  expect([mayBeAnswered(known, "bone_drugs"), mayBeAnswered(known, "asthma")]).toEqual([true, false]);
});

test("a fact of which nothing is stated any more stays", () => {
  const stated = withFact(withFact(draft, "asthma"), "bone_drugs", "years", 3);
  expect(factsOf(stated)).toEqual(["asthma", "bone_drugs"]);
  const emptied = withValue(stated, 0, { path: "patient.history.bone_drugs.years" }, undefined);
  expect(emptied["patient"]).toEqual({ reference: "T-1", history: { asthma: {}, bone_drugs: {} } });
});

test("a fact that leaves by name alone comes back whole where a save was refused", () => {
  const held = withFact(withFact(draft, "asthma"), "bone_drugs", "years", 3);
  const history = { past: [], now: withFact(draft, "asthma"), future: [] };
  const back = withBack(history, [{ field: "history", entry: "bone_drugs" }], held);
  expect(listed(back.now, "history")).toEqual(["asthma", "bone_drugs"]);
  expect(back.now["patient"]).toEqual(held["patient"]);
});

test("a drug is classified once, by the last who says what it is", () => {
  const first = withClassified(draft, "lisinopril", "no concern", "A", "2026-05-01");
  const then = withClassified(first, "lisinopril", "pregnant", "B", "2026-05-02");
  expect(then["patient"]).toMatchObject({ classified: [{ entry: "lisinopril", as_fact: "pregnant", by: "B", date: "2026-05-02" }] });
});
