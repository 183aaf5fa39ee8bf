// Reads a QR code as a phone would: from the pixels on the screen.
import jsQR from "jsqr";
import { PNG } from "pngjs";

/** The text of the first QR code visible in a Playwright locator or page; throws when there is none. */
export async function readQr(target) {
  const picture = PNG.sync.read(await target.screenshot());
  const code = (jsQR.default ?? jsQR)(new Uint8ClampedArray(picture.data), picture.width, picture.height);
  if (!code) throw new Error(`no QR code can be read in a picture of ${picture.width} × ${picture.height}`);
  return code.data;
}
