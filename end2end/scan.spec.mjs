// A tag is read by the camera: a real browser looks at a film of the tag that was printed, and opens its knife.
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { chromium } from "@playwright/test";
import { PNG } from "pngjs";
import { book, receive, referenceOf } from "./day.mjs";
import { DESK, complaintsOf } from "./look.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

const FILM = { width: 640, height: 480 };

/** One frame in grey (YUV4MPEG2) with a picture in its middle, on white, as a tag on a light bench. */
function film(png) {
  const { width, height } = FILM;
  const grey = Buffer.alloc(width * height, 235);
  const scale = Math.min(1, 300 / Math.max(png.width, png.height));
  const [w, h] = [Math.floor(png.width * scale), Math.floor(png.height * scale)];
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const at = (Math.floor(y / scale) * png.width + Math.floor(x / scale)) * 4;
      grey[(y + ((height - h) >> 1)) * width + x + ((width - w) >> 1)] = Math.round(16 + (png.data[at] * 219) / 255);
    }
  }
  const colour = Buffer.alloc((width * height) / 2, 128);
  return Buffer.concat([Buffer.from(`YUV4MPEG2 W${width} H${height} F5:1 Ip A1:1 C420jpeg\nFRAME\n`), grey, colour]);
}

test("the camera reads a tag and opens its knife", async ({ shop, desk }, info) => {
  await signIn(desk, hire(shop, "mara", "Mara Holt"));
  const customer = await book(shop, "Ines Boto", [{ mark: "DN-21" }, { mark: "DN-21" }]);
  const [, second] = await receive(desk, await referenceOf(shop, customer));
  await desk.getByRole("link", { name: "Print the tags" }).click();
  const label = desk.getByRole("region", { name: `Tag ${second}` });
  const path = join(shop.folder, "tag.y4m");
  writeFileSync(path, film(PNG.sync.read(await label.locator(".qr").screenshot())));

  const { launchOptions } = info.project.use;
  const camera = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${path}`];
  const tablet = await chromium.launch({ ...launchOptions, args: [...launchOptions.args, ...camera] });
  try {
    const context = await tablet.newContext({ baseURL: shop.url, viewport: DESK, permissions: ["camera"] });
    await context.addCookies(await desk.context().cookies());
    const page = await context.newPage();
    const complaints = complaintsOf(page);
    const fetched = [];
    page.on("request", (request) => fetched.push(new URL(request.url()).pathname));
    await page.goto("/desk");
    expect(fetched.filter((one) => one.includes("jsqr")), "the reader is fetched only when it is asked for").toEqual([]);
    await page.getByRole("button", { name: "Scan with the camera" }).click();
    await expect(page.getByRole("heading", { level: 1 })).toContainText("Measure", { timeout: 20_000 });
    await expect(page.getByText(second).first()).toBeVisible();
    expect(complaints).toEqual([]);
  } finally {
    await tablet.close();
  }
});
