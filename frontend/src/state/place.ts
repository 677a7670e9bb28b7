// Where a fault stands, in the words of the screen: a path of the case file to a reading, a field or a held place. Pure.
import { said, t } from "../words";
import type { ToothDraft } from "./edits";

export interface Place {
  text: string;
  /** The cell of the readings or the field of the findings it stands in, as the page names them. */
  cell: string | null;
  field: string | null;
  /** Which tooth of the case it is about. */
  tooth: number | null;
}

/** Name the place of a fault; what has no place on the screen keeps its path in the case file. */
export function placeOf(where: string, teeth: readonly ToothDraft[]): Place {
  const path = where.replace(/ \(.*\)$/, "");
  const inTooth = /^teeth\[(\d+)\]\.(.+)$/.exec(path);
  if (inTooth === null) {
    const named = path === "patient.reference" ? t("screen.new.reference") : said(`screen.findings.${path}`, path);
    return { text: named, cell: null, field: named === path ? null : path, tooth: null };
  }
  const at = Number(inTooth[1]);
  const tooth = teeth[at];
  const here = (text: string, found: Partial<Place>): Place => ({
    text: teeth.length > 1 ? t("screen.fault.of_tooth", { number: tooth?.number ?? at + 1, place: text }) : text,
    cell: null,
    field: null,
    tooth: at,
    ...found,
  });
  const rest = inTooth[2] ?? "";
  const reading = /^(?:sites\.)?(\w+)\.([A-Z]+|\d+)/.exec(rest);
  const kind = reading === null ? null : said(`screen.readings.long_${reading[1] ?? ""}`, "");
  if (reading !== null && kind) {
    return here(t("screen.readings.cell", { kind, site: reading[2] ?? "" }), { cell: `${reading[1] ?? ""} ${reading[2] ?? ""}` });
  }
  const held = /^held\.(cut|finish)\.(\w+)$/.exec(rest);
  if (held !== null) return here(t(held[1] === "cut" ? "screen.fault.held_cut" : "screen.fault.held_finish", { site: held[2] ?? "" }), {});
  const named = rest === "number" ? t("screen.tooth") : said(`screen.findings.${rest}`, "");
  return named ? here(named, { field: rest }) : here(rest, {});
}
