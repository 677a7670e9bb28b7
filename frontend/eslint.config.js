import svelte from "eslint-plugin-svelte";
import ts from "typescript-eslint";

// A number that ends in _mm is clinical: it is made on the server and only shown here, or placed by scale/.
const CLINICAL = "/_mm$/";
const arithmetic = ["+", "-", "*", "/"].flatMap((operator) =>
  ["left", "right"].flatMap((side) => [
    `BinaryExpression[operator="${operator}"][${side}.name=${CLINICAL}]`,
    `BinaryExpression[operator="${operator}"][${side}.property.name=${CLINICAL}]`,
  ]),
);

export default ts.config(
  { ignores: ["node_modules", "src/api/schema.d.ts", "public"] },
  ...ts.configs.recommendedTypeChecked,
  ...svelte.configs.recommended,
  {
    languageOptions: { parserOptions: { project: "./tsconfig.json", extraFileExtensions: [".svelte"] } },
    rules: { "@typescript-eslint/no-unused-vars": ["error", { varsIgnorePattern: "^_" }] },
  },
  { files: ["**/*.svelte", "**/*.svelte.ts"], languageOptions: { parserOptions: { parser: ts.parser } } },
  { files: ["*.js"], ...ts.configs.disableTypeChecked },
  {
    files: ["src/views/**", "src/state/**"],
    rules: {
      "no-restricted-syntax": [
        "error",
        ...arithmetic.map((selector) => ({ selector, message: "clinical numbers are made on the server" })),
        { selector: "SvelteMustacheTag[kind='raw']", message: "no markup from data" },
      ],
      "svelte/no-at-html-tags": "error",
    },
  },
);
