// The asset pipeline: app/web as WebAssembly, style/*.css as two sheets (everybody, staff), style/static as it is. Everything lands in
// site/pkg under a name that carries its own hash, with .br and .gz beside it, so the server may tell browsers to keep
// it for ever; site/manifest.json says which name belongs to what:
//
//   {"app": "web-<hash>", "answers": "answers-<hash>", "css": "style-<hash>.css", "staff": "staff-<hash>.css", "files": {"icons/mark.svg": "mark-<hash>.svg", ...}}
//
// Style sheets write url("static/icons/mark.svg"). Text files in style/static may write {{icons/mark.svg}} for the
// hashed address of a neighbour and {{assets}} for the JSON list of every address (a service worker wants it).
// What did not change is not done again: site/.stamps.json remembers the hash of each step's input.
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { basename, dirname, extname, join, relative, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import { transformSync } from "esbuild";

const style = dirname(fileURLToPath(import.meta.url));
const root = dirname(style);
const site = join(root, "site");
const pkg = join(site, "pkg");
const target = resolve(root, process.env.CARGO_TARGET_DIR ?? "target");
const stampFile = join(site, ".stamps.json");

/** Files worth compressing; pictures and fonts already are. */
const TEXT = new Set([".js", ".mjs", ".css", ".svg", ".json", ".webmanifest", ".txt", ".html", ".xml"]);
const SHRINKS = new Set([...TEXT, ".wasm", ".ico"]);

/** Files of npm packages that go along as they are, with their licence: a reader of QR codes for browsers without one. */
const KEPT_FROM_NPM = { "jsqr.js": "jsqr/dist/jsQR.js", "jsqr-licence.txt": "jsqr/LICENSE" };

/** Features rustc's wasm32 target switches on; wasm-opt must be told, or it refuses the module. */
const WASM_FEATURES = [
  "bulk-memory", "nontrapping-float-to-int", "sign-ext", "mutable-globals", "reference-types", "multivalue",
].map((feature) => `--enable-${feature}`);
/** Sheets of pages only staff see: a customer's phone does not load them. They come after the others, in the same layers. */
const STAFF = new Set(["bench.css", "page-bench.css", "page-desk.css", "page-plan.css", "page-shop.css", "page-style.css"]);

main();

function main() {
  mkdirSync(pkg, { recursive: true });
  const old = readStamps();
  const app = buildApp(old.app, "web", "hydrate");
  const answers = buildApp(old.answers, "answers", "browser");
  const files = buildStatic();
  const css = buildStyles("style.css", files, (name) => !STAFF.has(name));
  const staff = buildStyles("staff.css", files, (name) => STAFF.has(name));
  const all = [...app.files, ...answers.files, css, staff, ...Object.values(files)];
  removeAllBut(all);
  const manifest = { app: app.name, answers: answers.name, css, staff, files };
  writeIfChanged(join(site, "manifest.json"), `${JSON.stringify(manifest, null, 2)}\n`);
  writeIfChanged(stampFile, JSON.stringify({ app, answers }));
}

/** Compiles a crate of app/ for the browser, binds it, shrinks it. Each step is skipped while its input is the same. */
function buildApp(old, crate, feature) {
  const source = hash(
    ...["app", "Cargo.toml", "Cargo.lock", "rust-toolchain.toml", "style/package-lock.json", "style/build.mjs"].flatMap((path) =>
      walk(join(root, path)).flatMap((file) => [relative(root, file), readFileSync(file)]),
    ),
  );
  const whole = old?.files.every((file) => existsSync(join(pkg, file))) ?? false;
  if (whole && old.source === source) return old;

  run("cargo", ["build", "-p", crate, "--lib", "--target", "wasm32-unknown-unknown", "--profile", "wasm-release", "--features", feature]);
  const wasm = join(target, "wasm32-unknown-unknown", "wasm-release", `${crate}.wasm`);
  const compiled = hash(readFileSync(wasm), readFileSync(join(style, "build.mjs")), readFileSync(join(style, "package-lock.json")));
  if (whole && old.compiled === compiled) return { ...old, source };

  const bindgen = run(join(root, ".ci", "wasm-bindgen"), [], "pipe").trim();
  const work = mkdtempSync(join(site, "work-"));
  try {
    run(bindgen, ["--target", "web", "--no-typescript", "--out-dir", work, "--out-name", crate, wasm]);
    const bound = join(work, `${crate}_bg.wasm`);
    run(join(style, "node_modules", ".bin", "wasm-opt"), ["-Oz", "--strip-debug", "--strip-producers", ...WASM_FEATURES, bound, "-o", bound]);
    const module = readFileSync(bound);
    const glue = small(`${crate}.js`, readFileSync(join(work, `${crate}.js`), "utf8"));
    const name = `${crate}-${shortHash(module, glue)}`;
    const written = [
      write(`${name}.js`, glue.replaceAll(`${crate}_bg.wasm`, `${name}_bg.wasm`)),
      write(`${name}_bg.wasm`, module),
    ];
    // Inline JavaScript of crates; wasm-bindgen keys these folders by crate itself.
    const snippets = join(work, "snippets");
    for (const file of existsSync(snippets) ? walk(snippets) : []) written.push(write(relative(work, file), readFileSync(file)));
    report(written);
    return { source, compiled, name, files: written };
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** style/static under hashed names. Files that name neighbours come after those neighbours. */
function buildStatic() {
  const folder = join(style, "static");
  const files = {};
  const waiting = [];
  for (const [name, path] of Object.entries(KEPT_FROM_NPM)) {
    const content = readFileSync(join(style, "node_modules", path));
    files[name] = write(hashed(name, content), content);
  }
  for (const path of existsSync(folder) ? walk(folder) : []) {
    const name = relative(folder, path).replaceAll("\\", "/");
    const content = readFileSync(path);
    if (TEXT.has(extname(name)) && content.includes("{{")) {
      waiting.push([name, content.toString()]);
      continue;
    }
    const sent = small(name, content);
    files[name] = write(hashed(name, sent), sent);
  }
  const address = (name) => {
    if (!(name in files)) throw new Error(`style/static: {{${name}}} is not there, or names this file back`);
    return `/pkg/${files[name]}`;
  };
  for (const [name, text] of waiting.sort(([, a], [, b]) => Number(a.includes("{{assets}}")) - Number(b.includes("{{assets}}")))) {
    const filled = small(name, text.replace(/\{\{([^{}]+)\}\}/g, (_, inner) =>
      inner === "assets" ? JSON.stringify(Object.keys(files).sort().map(address)) : address(inner),
    ));
    files[name] = write(hashed(name, filled), filled);
  }
  return Object.fromEntries(Object.entries(files).sort());
}

/** One sheet of the `wanted` style/*.css: layers.css first (it puts the cascade layers in order), the rest by name. */
function buildStyles(sheetName, files, wanted) {
  const sheets = readdirSync(style).filter((name) => name.endsWith(".css") && wanted(name)).sort();
  const ordered = [...sheets.filter((name) => name === "layers.css"), ...sheets.filter((name) => name !== "layers.css")];
  const text = ordered.map((name) => readFileSync(join(style, name), "utf8").trimEnd()).join("\n").replace(
    /url\(\s*["']?static\/([^"')]+)["']?\s*\)/g,
    (_, name) => {
      if (!(name in files)) throw new Error(`a style sheet names static/${name}, which is not there`);
      return `url("/pkg/${files[name]}")`;
    },
  );
  const sheet = small(sheetName, text);
  return write(hashed(sheetName, sheet), sheet);
}

/** A sheet or script without what only its readers here need; anything else as it is. */
function small(name, content) {
  const loader = { ".css": "css", ".js": "js", ".mjs": "js" }[extname(name)];
  if (!loader) return content;
  return transformSync(content.toString(), { loader, minify: true, charset: "utf8", target: "es2022" }).code;
}

/** Writes a file of site/pkg and its compressed forms, unless it is there: a name with its hash in it never changes. */
function write(name, content) {
  const path = join(pkg, name);
  if (!existsSync(path)) {
    mkdirSync(dirname(path), { recursive: true });
    const bytes = Buffer.from(content);
    if (SHRINKS.has(extname(name))) {
      writeFileSync(`${path}.br`, brotliCompressSync(bytes, { params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length } }));
      writeFileSync(`${path}.gz`, gzipSync(bytes, { level: 9 }));
    }
    writeFileSync(path, bytes);
  }
  return name;
}

function removeAllBut(names) {
  const keep = new Set(names.flatMap((name) => [name, `${name}.br`, `${name}.gz`]));
  for (const path of walk(pkg)) if (!keep.has(relative(pkg, path))) rmSync(path);
}

function readStamps() {
  try {
    return JSON.parse(readFileSync(stampFile, "utf8"));
  } catch {
    return {}; // A first build, or a file cut short: build anew.
  }
}

function writeIfChanged(path, text) {
  if (!existsSync(path) || readFileSync(path, "utf8") !== text) writeFileSync(path, text);
}

function run(program, args, out = "inherit") {
  const done = spawnSync(program, args, { cwd: root, stdio: ["ignore", out, "inherit"], encoding: "utf8" });
  if (done.error || done.status !== 0) {
    console.error(`style/build.mjs: ${basename(program)} failed${done.error ? `: ${done.error.message}` : ` (exit ${done.status})`}`);
    process.exit(1);
  }
  return done.stdout ?? "";
}

function report(names) {
  const kib = (path) => `${Math.ceil(statSync(path).size / 1024)} KiB`;
  for (const name of names) console.log(`  ${name}: ${kib(join(pkg, name))}, ${kib(join(pkg, `${name}.br`))} as brotli`);
}

function hashed(name, content) {
  const extension = extname(name);
  return `${basename(name, extension)}-${shortHash(content)}${extension}`;
}

function shortHash(...parts) {
  return hash(...parts).slice(0, 16);
}

function hash(...parts) {
  const sum = createHash("sha256");
  // Lengths keep "ab","c" and "a","bc" apart.
  for (const part of parts) sum.update(`${Buffer.byteLength(part)}:`).update(part);
  return sum.digest("hex");
}

/** Every file under a path, or the path itself if it is a file, in a fixed order. */
function walk(path) {
  if (!existsSync(path)) return [];
  if (!statSync(path).isDirectory()) return [path];
  return readdirSync(path).sort().flatMap((name) => walk(join(path, name)));
}
