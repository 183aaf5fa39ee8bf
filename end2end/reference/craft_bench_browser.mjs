// The kernel's bench as WebAssembly in a real browser, built as the shop's own pages are: the same program as the native one, so the
// figures stand side by side. Prints its lines of JSON.
//
//   cargo build --profile wasm-release --target wasm32-wasip1 -p craft --example bench
//   node craft_bench_browser.mjs target/wasm32-wasip1/wasm-release/examples/bench.wasm
//
// Chromium is Debian's, or the one named by CHROMIUM. The page is served with the two headers that let it read its clock to 5 µs.

import { readFileSync } from "node:fs";
import { chromium } from "@playwright/test";
import { CHROMIUM } from "../chromium.mjs";

const [program] = process.argv.slice(2);
if (!program) {
  console.error("usage: craft_bench_browser.mjs BENCH.WASM");
  process.exit(2);
}
const address = "https://bench.example.org/";
const isolated = { "cross-origin-opener-policy": "same-origin", "cross-origin-embedder-policy": "require-corp" };

/** Runs in the page: the little of WASI (preview 1) a program needs that reads the clock and writes lines. */
async function runInPage(url) {
  const lines = [];
  let rest = "";
  let memory;
  const view = () => new DataView(memory.buffer);
  const decoder = new TextDecoder();
  const system = {
    clock_time_get(_clock, _precision, at) {
      view().setBigUint64(at, BigInt(Math.round(performance.now() * 1e6)), true);
      return 0;
    },
    fd_write(_file, vectors, n, written) {
      let bytes = 0;
      for (let i = 0; i < n; i += 1) {
        const at = view().getUint32(vectors + 8 * i, true);
        const length = view().getUint32(vectors + 8 * i + 4, true);
        rest += decoder.decode(new Uint8Array(memory.buffer, at, length));
        bytes += length;
      }
      view().setUint32(written, bytes, true);
      const whole = rest.split("\n");
      rest = whole.pop();
      lines.push(...whole);
      return 0;
    },
    environ_sizes_get(count, size) {
      view().setUint32(count, 0, true);
      view().setUint32(size, 0, true);
      return 0;
    },
    environ_get: () => 0,
    random_get(at, length) {
      crypto.getRandomValues(new Uint8Array(memory.buffer, at, length));
      return 0;
    },
    proc_exit(code) {
      throw new Error(`the program ended with ${code}\n${rest}`);
    },
  };
  const module = await WebAssembly.compileStreaming(fetch(url));
  const missing = 52; // ENOSYS
  const imports = Object.fromEntries(
    WebAssembly.Module.imports(module).map(({ name }) => [name, system[name] ?? (() => missing)]),
  );
  const instance = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: imports });
  memory = instance.exports.memory;
  instance.exports._start();
  return { lines, isolated: crossOriginIsolated };
}

const browser = await chromium.launch({
  executablePath: CHROMIUM,
  args: process.getuid?.() === 0 ? ["--no-sandbox"] : [],
});
try {
  const page = await browser.newPage();
  await page.route(`${address}**`, (route) => {
    const wasm = route.request().url().endsWith(".wasm");
    return route.fulfill({
      headers: { ...isolated, "content-type": wasm ? "application/wasm" : "text/html" },
      body: wasm ? readFileSync(program) : "<!doctype html><title>bench</title>",
    });
  });
  await page.goto(address);
  const found = await page.evaluate(runInPage, `${address}bench.wasm`);
  if (!found.isolated) console.error("the browser gives this page only a coarse clock: its figures are rough");
  for (const line of found.lines) console.log(line);
} finally {
  await browser.close();
}
