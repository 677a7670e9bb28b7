// Words by key, from the one catalogue. Shapes: {x} as it stands, {x:mm} one decimal, {x:in100} a chance, {x:place} an angle,
// {x:n|stroke|strokes} a count with the word for one or for more.
import catalogue from "virtual:words";

export type Parameters = Record<string, string | number>;

export function t(key: string, parameters: Parameters = {}): string {
  const template = catalogue[key];
  if (template === undefined) throw new Error(`no words under ${key}`);
  return template.replace(/\{(\w+)(?::([^{}]+))?\}/g, (_, name: string, shape: string | undefined) => {
    const value = parameters[name];
    if (value === undefined) throw new Error(`${key} lacks ${name}`);
    if (shape === "mm") return mm(Number(value));
    if (shape === "in100") return in100(Number(value));
    if (shape === "place") return place(Number(value));
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

const SITES_DEG = { F: 0, MF: 60, M: 90, ML: 120, L: 180, DL: 240, D: 270, DF: 300 };

/** The nearest of the eight sites; half way between two, both. */
function sitesAt(deg: number): string[] {
  const away = (at: number): number => Math.abs(((deg - at + 540) % 360) - 180);
  const nearest = Math.min(...Object.values(SITES_DEG).map(away));
  return Object.entries(SITES_DEG).flatMap(([name, at]) => (away(at) - nearest < 1e-9 ? [name] : []));
}

/** The nearest of the eight sites. */
export const siteAt = (deg: number): string => sitesAt(deg)[0] ?? "";

/** An angle with the nearest of the eight sites, as the catalogue names it. */
export const place = (deg: number): string => `${deg.toFixed(0)}° (${sitesAt(deg).map((name) => t(`site.short.${name}`)).join("/")})`;

/** A chance in hundredths, rounded down as on paper; never a certainty the draws cannot show. */
export function in100(share: number | null | undefined): string {
  if (share === null || share === undefined) return "–";
  if (share >= 0.995) return t("screen.chance.over");
  if (share < 0.01) return t("screen.chance.under");
  return t("screen.chance.in100", { share: Math.floor(share * 100 + 1e-9) });
}
