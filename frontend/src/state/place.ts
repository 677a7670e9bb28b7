// Where something of a case stands, in the words of the screen: a path of the case file to a reading, a field or a held place. Pure.
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

const NOWHERE: Place = { text: "", cell: null, field: null, tooth: null };

/** The last name of a path as words: what the screen has no field for is still not told by its key. */
const plain = (path: string): string => (path.match(/[a-z]\w*/gi)?.at(-1) ?? path).replace(/_(mm|deg|cm2|percent)$/, "").replaceAll("_", " ");

/** The words of a path inside a tooth or a patient. */
const named = (path: string): string => said(`screen.findings.${path}`, plain(path));

/** Name a place; `where` may hold tooth and site in brackets behind it, for a case that is not open. */
export function placeOf(where: string, teeth: readonly ToothDraft[]): Place {
  const [, written = "", label = ""] = /^(.*?)(?: \((.*)\))?$/.exec(where) ?? [];
  const path = written.replace(/^document\./, "");
  const inTooth = /^teeth\[(\d+)\](?:\.(.+))?$/.exec(path);
  if (inTooth === null) {
    const own = path === "patient.reference";
    return { ...NOWHERE, text: own ? t("screen.new.reference") : named(path), field: !own && said(`screen.findings.${path}`, "") ? path : null };
  }
  const at = Number(inTooth[1]);
  const number = teeth[at]?.number ?? /\d\d/.exec(label)?.[0];
  const here = (text: string, found: Partial<Place> = {}): Place => ({
    ...NOWHERE,
    text: number === undefined ? text : t("screen.fault.of_tooth", { number, place: text }),
    tooth: at,
    ...found,
  });
  const rest = inTooth[2] ?? "number";
  const reading = /^(?:sites\.)?(\w+?)(?:\.([A-Z]+|\d+)|\[\d+\])/.exec(rest);
  const site = reading?.[2] ?? /[A-Z]+$/.exec(label)?.[0];
  const kind = reading === null ? "" : said(`screen.readings.long_${reading[1] ?? ""}`, "");
  if (kind !== "" && site !== undefined) return here(t("screen.readings.cell", { kind, site }, number), { cell: `${reading?.[1] ?? ""} ${site}` });
  const held = /^held\.(cut|finish)\.(\w+)$/.exec(rest);
  if (held !== null) return here(t(held[1] === "cut" ? "screen.fault.held_cut" : "screen.fault.held_finish", { site: held[2] ?? "" }, number));
  return here(rest === "number" ? t("screen.fault.number") : named(rest), { field: rest });
}
