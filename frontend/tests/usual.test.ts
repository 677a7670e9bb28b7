// A typed number outside the range of the case file is named, a bound that a probe did not reach too.
import { expect, test } from "vitest";
import { impossible } from "../src/scale/usual";

const range = { low: 0, high: 15 };

test.each([
  [3, null],
  [15, null],
  [15.5, 15.5],
  [-1, -1],
  [[3, 16], 16],
  [{ value: 20 }, 20],
  [{ beyond: 20 }, 20],
  ["not measurable", null],
  [undefined, null],
] as const)("%j holds %j that no case file takes", (entry, found) => {
  expect(impossible(range, entry as never)).toBe(found);
});

test("without a range nothing is refused", () => expect(impossible(null, 99)).toBeNull());
