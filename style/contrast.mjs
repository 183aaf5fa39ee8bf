// Measures the contrast of every pair of colours the style sheets put on one another (WCAG 2.2, 1.4.3 and 1.4.11),
// in light, dark and both with more contrast asked for. `node style/contrast.mjs` prints what is too weak and fails;
// with `--all` it prints every ratio. Ratios are computed from the definition of relative luminance in WCAG 2.2.
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const TEXT = 4.5; // words
const PART = 3; // outlines of controls, focus, drawings that carry meaning

/** What stands on what: [in front, behind, least ratio]. */
const PAIRS = [
  ...on(["ink", "ink-2", "link", "good", "warn", "bad", "plain", "spark-line"], ["ground", "sheet", "raised"], TEXT),
  ...on(["rim", "focus", "past", "taken"], ["ground", "sheet", "raised"], PART),
  ...["good", "warn", "bad", "plain"].flatMap((tone) => on([tone, "ink", "link"], [`${tone}-bg`], TEXT)),
  ...on(["ink-2"], ["good-bg", "warn-bg", "bad-bg", "plain-bg"], TEXT), // hints and sources inside notices
  ...on(["stone-ink", "stone-2"], ["stone"], TEXT),
  ...on(["spark"], ["stone"], PART), // the mark of the place one is at
  ...on(["spark-ink"], ["spark"], TEXT),
  // The outline of a drawn blade is ink; the steel inside only has to differ from its paper by that outline.
  ...on(["ink"], ["steel"], PART),
];
/** Never alone in carrying a meaning: lines between rows. */
const QUIET = new Set(["line"]);

const { tokens, more } = read("tokens.css");
const MODES = {
  light: (name) => tokens.get(name)?.[0],
  dark: (name) => tokens.get(name)?.[1],
  "light, more contrast": (name) => (more.get(name) ?? tokens.get(name))?.[0],
  "dark, more contrast": (name) => (more.get(name) ?? tokens.get(name))?.[1],
};

let failed = 0;
let least = [Infinity, ""];
for (const [mode, colour] of Object.entries(MODES)) {
  for (const [front, behind, wanted] of PAIRS) {
    const ratio = contrast(hex(colour(front), front), hex(colour(behind), behind));
    const said = `${ratio.toFixed(2).padStart(5)} (${wanted})  ${front} on ${behind}, ${mode}`;
    if (ratio < wanted) fail(`too weak: ${said}`);
    else if (process.argv.includes("--all")) console.log(said);
    if (ratio / wanted < least[0]) least = [ratio / wanted, said.trim()];
  }
}
const known = new Set([...PAIRS.flatMap(([front, behind]) => [front, behind]), ...QUIET]);
for (const name of tokens.keys()) {
  if (!known.has(name)) fail(`--${name} stands in no measured pair: add it to PAIRS`);
}
for (const name of more.keys()) {
  if (!tokens.has(name)) fail(`--${name} is only there when more contrast is asked for`);
}
// A colour written anywhere else escapes this measurement. Paper is black on white whatever the screen shows.
for (const sheet of readdirSync(here()).filter((name) => name.endsWith(".css") && !["tokens.css", "print.css"].includes(name))) {
  const text = readFileSync(join(here(), sheet), "utf8").replace(/\/\*.*?\*\//gs, "");
  for (const found of text.match(/:[^;{}]*(#[0-9a-f]{3,8}\b|\b(?:rgb|hsl|oklch|lab)a?\()[^;}]*/gi) ?? []) {
    fail(`${sheet} writes a colour of its own (${found.slice(1).trim()}): make it a token`);
  }
}
console.log(`${PAIRS.length * Object.keys(MODES).length} pairs measured, closest to its limit: ${least[1]}`);
process.exit(failed ? 1 : 0);

function fail(why) {
  console.error(why);
  failed += 1;
}

function on(fronts, behinds, wanted) {
  return fronts.flatMap((front) => behinds.map((behind) => [front, behind, wanted]));
}

/** The colour tokens of the sheet, light and dark; once as they are, once where more contrast is asked for. */
function read(sheet) {
  const text = readFileSync(join(here(), sheet), "utf8").replace(/\/\*.*?\*\//gs, "");
  const [plain, contrasted] = text.split(/@media \(prefers-contrast: more\)/);
  const colours = (part) =>
    new Map(Array.from(part.matchAll(/--([a-z0-9-]+):\s*light-dark\(\s*(#[0-9a-f]{6})\s*,\s*(#[0-9a-f]{6})\s*\)/gi), ([, name, light, dark]) => [name, [light, dark]]));
  if (contrasted === undefined) throw new Error(`${sheet} has no block for more contrast`);
  return { tokens: colours(plain), more: colours(contrasted) };
}

function hex(text, name) {
  if (!text) throw new Error(`--${name} is not a light-dark() pair in tokens.css`);
  return [1, 3, 5].map((i) => parseInt(text.slice(i, i + 2), 16) / 255);
}

function luminance(rgb) {
  const [r, g, b] = rgb.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a, b) {
  const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (high + 0.05) / (low + 0.05);
}

function here() {
  return dirname(fileURLToPath(import.meta.url));
}
