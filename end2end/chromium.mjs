// Which browser the tests drive: the one CHROMIUM names, else Debian's, in its form without a window when that is
// there: it does the same a quarter faster.
import { existsSync } from "node:fs";

const DEBIAN = ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium"];

export const CHROMIUM = process.env.CHROMIUM ?? DEBIAN.find((path) => existsSync(path)) ?? DEBIAN[0];
