// Browser tests against the real program: `make test` runs them, or `node_modules/.bin/playwright test` in this folder
// after `make build`. Every test opens its own shop (shop.mjs), so order and repetition do not matter.
import { defineConfig } from "@playwright/test";
import { CHROMIUM } from "./chromium.mjs";

const launchOptions = {
  executablePath: CHROMIUM,
  args: [
    // Chromium's sandbox refuses to start as root, as CI machines run it.
    ...(process.getuid?.() === 0 ? ["--no-sandbox"] : []),
    // Stay quiet on the network: only the shop is there.
    "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
  ],
};

export default defineConfig({
  testMatch: "*.spec.mjs",
  // A whole day takes minutes by itself: `make day` walks it.
  testIgnore: process.env.DAY ? [] : ["day.spec.mjs"],
  outputDir: "test-results",
  forbidOnly: Boolean(process.env.CI),
  retries: 0,
  // While one shop waits for its disk, another is looked at; more than two get in each other's way on two cores.
  workers: 2,
  fullyParallel: true,
  timeout: 120_000,
  expect: { timeout: 10_000 },
  reporter: [["list"]],
  use: {
    launchOptions,
    locale: "en-GB",
    timezoneId: "Europe/Berlin",
    actionTimeout: 10_000,
    navigationTimeout: 20_000,
    trace: process.env.TRACE ? "on" : "off",
    screenshot: "only-on-failure",
  },
});
