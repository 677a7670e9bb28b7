// Words by key, from the one catalogue. Shapes: {x} as it stands, {x:mm} one decimal, {x:in100} a chance.
import catalogue from "virtual:words";

export type Parameters = Record<string, string | number>;

export function t(key: string, parameters: Parameters = {}): string {
  const template = catalogue[key];
  if (template === undefined) throw new Error(`no words under ${key}`);
  return template.replace(/\{(\w+)(?::(\w+))?\}/g, (_, name: string, shape: string | undefined) => {
    const value = parameters[name];
    if (value === undefined) throw new Error(`${key} lacks ${name}`);
    if (shape === "mm") return mm(Number(value));
    if (shape === "in100") return in100(Number(value));
    return String(value);
  });
}

/** One decimal; never minus zero; a dash where nothing is known. */
export function mm(value: number | null | undefined): string {
  if (value === null || value === undefined) return "–";
  const shown = value.toFixed(1);
  return shown === "-0.0" ? "0.0" : shown.replace("-", "−");
}

/** A chance in hundredths, rounded down as on paper; never a certainty the draws cannot show. */
export function in100(share: number | null | undefined): string {
  if (share === null || share === undefined) return "–";
  if (share >= 0.995) return t("screen.chance.over");
  if (share < 0.01) return t("screen.chance.under");
  return t("screen.chance.in100", { share: Math.floor(share * 100 + 1e-9) });
}
