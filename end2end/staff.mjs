// People who work in the shop, at their screens.
import { expect } from "@playwright/test";

/** Hires somebody by the command line; gives the name and the one-time password it prints. */
export function hire(shop, signInName, fullName, roles = ["--owner"]) {
  const added = shop.command("person", "add", signInName, fullName, ...roles);
  const password = added.stdout.match(/one-time password:\s*(\S.*)/)?.[1];
  if (added.status !== 0 || !password) throw new Error(`person add failed (${added.status}): ${added.stderr}${added.stdout}`);
  return { signInName, fullName, password };
}

/** Signs in for the first time: with the one-time password, and on to one of their own. */
export async function signIn(page, who, password = "seven quiet wet stones") {
  await page.goto("/account");
  await page.getByLabel("Name").fill(who.signInName);
  await page.getByLabel("Password", { exact: true }).fill(who.password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByLabel("Present password").fill(who.password);
  await page.getByLabel("New password", { exact: true }).fill(password);
  await page.getByLabel("New password, once more").fill(password);
  await page.getByRole("button", { name: "Change the password" }).click();
  await expect(page.getByText("Your password is changed")).toBeVisible();
}
