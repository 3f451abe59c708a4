// What the pages' scripts and their tests keep to.

import js from "@eslint/js";
import globals from "globals";

const rules = {
  ...js.configs.recommended.rules,
  complexity: ["error", 10],
  eqeqeq: "error",
  "max-lines": ["error", 400],
  "no-param-reassign": "error",
  "no-shadow": "error",
  "no-var": "error",
  "prefer-const": "error",
};
const languageOptions = { ecmaVersion: 2023, sourceType: "module" };

export default [
  { ignores: ["**/node_modules/**"] },
  { files: ["viewer/web/assets/*.js"], rules, languageOptions: { ...languageOptions, globals: globals.browser } },
  { files: ["tests/web/scripts/*.js"], rules, languageOptions: { ...languageOptions, globals: globals.node } },
];
