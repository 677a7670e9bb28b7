// Makes the screen's part of the wording catalogue a module, so that the words live once, in the catalogue.
import { readFileSync, readdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { parse } from "smol-toml";
import type { Plugin } from "vite";

const CATALOGUE = fileURLToPath(new URL("../src/collum/wording/en/", import.meta.url));
/** All of the catalogue, so that no file of it can be forgotten here. */
const FILES = readdirSync(CATALOGUE).filter((name) => name.endsWith(".toml")).sort().map((name) => `${CATALOGUE}${name}`);

/** Of a topic's own sentences, which come with its answers, the screen needs the names of things alone. */
const ON_SCREEN = /^(screen|tooth|site|bridge\.(area|material|point|rule|table|verdict)|safety\.condition|restoration\.(cement|enough|grade|hazard|material|root|rule|sector|status))\./;

export function flat(table: object, prefix = ""): Record<string, string> {
  const out: Record<string, string> = {};
  for (const [key, entry] of Object.entries(table as Record<string, unknown>)) {
    if (typeof entry === "object" && entry !== null) Object.assign(out, flat(entry, `${prefix}${key}.`));
    else out[`${prefix}${key}`] = String(entry);
  }
  return out;
}

export function words(): Plugin {
  return {
    name: "collum-words",
    resolveId: (id) => (id === "virtual:words" ? "\0virtual:words" : undefined),
    load(id) {
      if (id !== "\0virtual:words") return undefined;
      const joined: Record<string, string> = {};
      for (const file of FILES) {
        this.addWatchFile(file);
        const found = Object.entries(flat(parse(readFileSync(file, "utf8")) as object));
        Object.assign(joined, Object.fromEntries(found.filter(([key]) => ON_SCREEN.test(key))));
      }
      return `export default ${JSON.stringify(joined)};`;
    },
  };
}
