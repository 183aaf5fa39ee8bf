// A whole shop for one test: the real program, a fresh database, a folder for its mail, a port of its own.
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { Mailbox } from "./mailbox.mjs";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const program = process.env.SHOP_PROGRAM ?? resolve(root, process.env.CARGO_TARGET_DIR ?? "target", "debug", "whetledger");

/** When a test begins, by the shop's clock, wherever and whenever it runs: a Wednesday morning without a holiday near. */
export const MORNING = new Date("2027-03-03T09:00:00+01:00");

export class Shop {
  /**
   * Opens a shop on a fresh folder. `settings` are WHETLEDGER_* variables on top of the usual ones; `demo: false` opens
   * it empty; `history: true` with the weeks the demo shop has lived through.
   */
  static async open({ settings = {}, demo = true, history = false } = {}) {
    const shop = new Shop();
    shop.folder = mkdtempSync(join(tmpdir(), "whetledger-shop-"));
    shop.port = await freePort();
    shop.url = `http://127.0.0.1:${shop.port}`;
    shop.arguments = history ? ["serve", "--demo"] : demo ? ["serve", "--demo-fresh"] : ["serve"];
    shop.settings = {
      WHETLEDGER_BIND: `127.0.0.1:${shop.port}`,
      WHETLEDGER_DATA: shop.folder,
      WHETLEDGER_SITE: join(root, "site"),
      WHETLEDGER_POST: "folder",
      WHETLEDGER_TEST_CLOCK: join(shop.folder, "clock"),
      ...settings,
    };
    shop.setClock(MORNING);
    shop.mailbox = new Mailbox(join(shop.folder, "post"));
    shop.log = "";
    await shop.start();
    return shop;
  }

  /** The environment of the program: ours without WHETLEDGER_*, and this shop's settings. */
  environment() {
    const plain = Object.entries(process.env).filter(([name]) => !name.startsWith("WHETLEDGER_"));
    return { ...Object.fromEntries(plain), ...this.settings };
  }

  /** Makes it `instant` in the shop; from there its time goes on. */
  setClock(instant) {
    writeFileSync(join(this.folder, "clock"), String(Math.round((instant - Date.now()) / 1000)));
  }

  /** Starts the program and waits until it says it is well. */
  async start() {
    const child = spawn(program, this.arguments, { cwd: this.folder, env: this.environment(), stdio: ["ignore", "pipe", "pipe"] });
    this.child = child;
    this.ended = once(child, "exit").then(([code, signal]) => signal ?? code);
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding("utf8");
      stream.on("data", (text) => (this.log += text));
    }
    const until = Date.now() + 60_000;
    while (!(await this.isWell())) {
      if (child.exitCode !== null || child.signalCode !== null) throw new Error(`the shop stopped at once (${await this.ended}):\n${this.log}`);
      if (Date.now() > until) throw new Error(`the shop is not well after 60 s:\n${this.log}`);
      await new Promise((resume) => setTimeout(resume, 50));
    }
  }

  async isWell() {
    return (await this.health()) === 200;
  }

  /** The status of /healthz; null when nobody answers. */
  async health() {
    try {
      const answer = await fetch(`${this.url}/healthz`);
      await answer.arrayBuffer();
      return answer.status;
    } catch {
      return null;
    }
  }

  /** Asks the program to stop, as Ctrl-C or a service manager does; gives its exit code. */
  async stop() {
    this.child.kill("SIGTERM");
    return await this.ended;
  }

  /** Ends the program as a power cut does. */
  async kill() {
    this.child.kill("SIGKILL");
    await this.ended;
  }

  /** Runs another command of the program on this shop: { status, stdout, stderr }. */
  command(...args) {
    return spawnSync(program, args, { cwd: this.folder, env: this.environment(), encoding: "utf8" });
  }

  /** Ends the program and removes its folder. */
  async close() {
    if (this.child.exitCode === null && this.child.signalCode === null) await this.kill();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

async function freePort() {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address();
  server.close();
  await once(server, "close");
  return port;
}
