import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";
import { words } from "./words-plugin.ts";

export default defineConfig({
  plugins: [words(), svelte()],
  base: "./",
  build: {
    outDir: "../src/collum/web/static",
    emptyOutDir: true,
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
    target: "es2022",
  },
});
