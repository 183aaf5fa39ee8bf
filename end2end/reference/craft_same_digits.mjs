// The same stream of knives through the native program and through the same program as WebAssembly: every byte of every answer and of
// every complaint must be the same.
//
// `make test` does this with 2,000 knives. By hand:
//
//   rustup target add wasm32-wasip1
//   cargo build -p craft --example estimate
//   cargo build --profile wasm-release -p craft --example estimate --target wasm32-wasip1
//   python craft_reference.py --write knives.jsonl
//   node --no-warnings craft_same_digits.mjs target/debug/examples/estimate \
//        target/wasm32-wasip1/wasm-release/examples/estimate.wasm knives.jsonl

import { spawnSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { WASI } from "node:wasi";

const [native, wasm, knives] = process.argv.slice(2);
if (!knives) {
  console.error("usage: craft_same_digits.mjs NATIVE WASM KNIVES");
  process.exit(2);
}
const input = readFileSync(knives);
const here = spawnSync(native, { input, maxBuffer: 1 << 30 });

const folder = mkdtempSync(join(tmpdir(), "craft-"));
const files = { stdout: join(folder, "out"), stderr: join(folder, "err") };
const handles = { stdin: openSync(knives, "r"), stdout: openSync(files.stdout, "w"), stderr: openSync(files.stderr, "w") };
const wasi = new WASI({ version: "preview1", args: ["estimate"], ...handles });
const program = await WebAssembly.compile(readFileSync(wasm));
wasi.start(await WebAssembly.instantiate(program, wasi.getImportObject()));
Object.values(handles).forEach((handle) => closeSync(handle));
const there = { stdout: readFileSync(files.stdout), stderr: readFileSync(files.stderr) };
rmSync(folder, { recursive: true });

const lines = (bytes) => bytes.toString("utf8").split("\n");
let different = 0;
for (const stream of ["stdout", "stderr"]) {
  const [a, b] = [lines(here[stream]), lines(there[stream])];
  for (let i = 0; i < Math.max(a.length, b.length); i += 1) {
    if (a[i] !== b[i]) {
      different += 1;
      if (different <= 3) console.log(`${stream} line ${i + 1}\n  native ${a[i]}\n  wasm   ${b[i]}`);
    }
  }
}
console.log(`${lines(here.stdout).length - 1} answers, ${lines(here.stderr).length - 1} complaints, ${different} lines differ`);
process.exit(different > 0 || lines(here.stdout).length < 2 ? 1 : 0);
