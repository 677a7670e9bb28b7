// Words by key, from the one catalogue. Shapes: {x} as it stands, {x:mm} one decimal, {x:in100} a chance, {x:place} an angle, {x:site} a site,
// {x:n|stroke|strokes} a count with the word for one or for more.
import catalogue from "virtual:words";

export type Parameters = Record<string, string | number>;

/** The words under a key; `tooth`: its ISO number, where they name a place round it. */
export function t(key: string, parameters: Parameters = {}, tooth?: Tooth): string {
  const template = catalogue[key];
  if (template === undefined) throw new Error(`no words under ${key}`);
  return template.replace(/\{(\w+)(?::([^{}]+))?\}/g, (_, name: string, shape: string | undefined) => {
    const value = parameters[name];
    if (value === undefined) throw new Error(`${key} lacks ${name}`);
    if (shape === "mm") return mm(Number(value));
    if (shape === "in100") return in100(Number(value));
    if (shape === "place") return place(Number(value), tooth);
    if (shape === "site") return siteLetters(String(value), tooth);
    if (shape?.startsWith("n|")) return counted(value, shape.split("|"));
    return String(value);
  });
}

const counted = (value: string | number, [, one = "", more = ""]: string[]): string => `${value} ${Number(value) === 1 ? one : more}`;

/** One decimal; never minus zero; a dash where nothing is known. */
export function mm(value: number | null | undefined): string {
  if (value === null || value === undefined) return "–";
  const shown = value.toFixed(1);
  return shown === "-0.0" ? "0.0" : shown.replace("-", "−");
}

/** What is lacking, one decimal, rounded up: the smallest lack never reads as none. */
export const lacking = (value: number): string => mm(Math.ceil(Number((value * 10).toFixed(6))) / 10);

/** A ratio or a share, two decimals; a dash where nothing is known. */
export const ratio = (value: number | null | undefined): string => (value === null || value === undefined ? "–" : value.toFixed(2));

/** A share in whole per cent, rounded down as in the sentences of the server; a dash where nothing is known. */
export const percent = (share: number | null | undefined): string => (share === null || share === undefined ? "–" : `${Math.floor(share * 100 + 1e-9)} %`);

/** A value with its unit as it is read: mm with one decimal, ratios with two, shares in per cent. */
export function measured(value: number | null, unit: string): string {
  if (value === null) return "–";
  if (unit === "share") return `${(value * 100).toFixed(0)} %`;
  return unit === "mm" ? `${mm(value)} mm` : ratio(value);
}

/** A moment of the record as it is read. */
export const moment = (at: string): string => new Date(at).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });

/** The word for a verdict; in doubt by its chance, where the plan says it. */
export const verdictOf = (one: { verdict: string; likelihood?: string | null }): string => t(`screen.verdict.${one.likelihood ?? one.verdict}`);

/** The words under a key that is made of data, or the data itself where the catalogue has no words for it. */
export const said = (key: string, otherwise: string): string => (catalogue[key] === undefined ? otherwise : t(key));

const SITES_DEG: Record<string, number> = { F: 0, MF: 60, M: 90, ML: 120, L: 180, DL: 240, D: 270, DF: 300 };
const SITE_OF_SIDE = { facial: "F", mesial: "M", oral: "L", distal: "D" } as const;
export type Side = keyof typeof SITE_OF_SIDE;
export type Tooth = number | string | null | undefined;

interface Names {
  facial_letter: string;
  palatal_letter: string;
}
let names: Names = { facial_letter: "F", palatal_letter: "P" };

/** Set how the practice writes sites, as the server says it when the page opens. */
export function nameBy(told: Names): void {
  names = told;
}

/** Whether a tooth is known to be in the upper jaw. */
const isUpper = (tooth: Tooth): boolean => /^[12]/.test(String(tooth ?? ""));

/** The site nearest to an angle as a case names it, or the two whose middle third it is in. */
function sitesAt(deg: number): string[] {
  const sites = Object.entries(SITES_DEG);
  const turned = ((deg % 360) + 360) % 360;
  const before = sites.findLastIndex(([, at]) => at <= turned);
  const [[name, start] = ["F", 0], [next, end] = ["F", 360]] = [sites[before], sites[before + 1]];
  const share = (turned - start) / (end - start);
  if (share > 1 / 3 + 1e-9 && share < 2 / 3 - 1e-9) return [name, next];
  return [share < 1 / 2 ? name : next];
}

/** A site by what the catalogue calls it: P for palatal, B for buccal. */
const called = (site: string, tooth: Tooth): string => (isUpper(tooth) ? site.replace("L", "P") : site).replace("F", names.facial_letter);

/** The letters of a site of a case; one in degrees keeps them. */
export function siteLetters(site: string, tooth: Tooth): string {
  if (SITES_DEG[site] === undefined) return /^\d+$/.test(site) ? `${site}°` : site;
  return site.replace("L", isUpper(tooth) ? names.palatal_letter : "L").replace("F", names.facial_letter);
}

/** A side of a tooth by its name: the oral one as it is called in its jaw. */
export const sideName = (side: Side, tooth: Tooth): string => t(`site.long.${called(SITE_OF_SIDE[side], tooth)}`);

/** An angle by its place in letters, for drawings: "P", "P/DP". */
export const letters = (deg: number, tooth: Tooth): string => sitesAt(deg).map((site) => siteLetters(site, tooth)).join("/");

/** An angle by its place in words: "palatal", "between palatal and distopalatal"; `form` "there": "palatally". */
export function place(deg: number, tooth: Tooth, form: "long" | "there" = "long"): string {
  const sites = sitesAt(deg).map((site) => called(site, tooth));
  if (sites.length === 1) return t(`site.${form}.${sites[0] ?? ""}`);
  return `${t("site.between")} ${sites.map((site) => t(`site.long.${site}`)).join(` ${t("site.and")} `)}`;
}

/** A chance in hundredths, rounded down as on paper; never a certainty the draws cannot show. */
export function in100(share: number | null | undefined): string {
  if (share === null || share === undefined) return "–";
  if (share >= 0.995) return t("screen.chance.over");
  if (share < 0.01) return t("screen.chance.under");
  return t("screen.chance.in100", { share: Math.floor(share * 100 + 1e-9) });
}
