// Which levels were read at a site and which are estimated there. Pure.
import { READING_ROWS } from "../api/case";
import type { Entry, Single } from "../state/entry";
import { entryAt, pathOf, type ToothDraft } from "../state/edits";

/** The kinds of reading that are drawn as a level. */
export function readAs(level: string): readonly string[] {
  return READING_ROWS.filter((row) => row.line === level).map((row) => row.id);
}

/** The readings that put a level at its place; the base of the sulcus is never read. The margin is tied by edge or junction. */
const TIES = [...readAs("occlusal_edge"), ...readAs("cej")];
const CREST = readAs("crest");
const READ_BY: Record<string, readonly string[]> = {
  planned_edge: readAs("occlusal_edge"),
  sound_edge: readAs("sound_edge"),
  gingival_margin: TIES,
  sulcus_base: [],
  crest: CREST,
  margin_today: TIES,
  crest_today: CREST,
  margin_after: TIES,
  crest_after: CREST,
};
/** Where a film shows the crest. */
const ON_THE_FILM: Record<string, string> = { M: "mesial", D: "distal" };

/** A number: not a word, and no bound that a probe did not reach. */
const isRead = (part: Single): boolean => typeof part === "number" || (typeof part === "object" && part.value !== undefined);

function anyRead(entry: Entry | undefined): boolean {
  if (entry === undefined) return false;
  return Array.isArray(entry) ? entry.some(isRead) : isRead(entry);
}

/** Whether a line is a level that could have been read. */
export const isLevel = (line: string): boolean => READ_BY[line] !== undefined;

/** Whether a level was read at a site; a line that is no level is not told about. */
export function isReadAt(tooth: ToothDraft | undefined, line: string, site: string): boolean {
  if (tooth === undefined) return false;
  const side = READ_BY[line] === CREST ? ON_THE_FILM[site] : undefined;
  if (side !== undefined && pathOf(tooth, `proximal_crest_from_film_mm.${side}`) !== undefined) return true;
  return (READ_BY[line] ?? []).some((kind) => anyRead(entryAt(tooth, kind, site)));
}
