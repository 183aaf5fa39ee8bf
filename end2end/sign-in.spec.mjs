// Staff reach their pages by signing in, with scripts and without.
import { accessible, picture } from "./look.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

for (const scripts of [true, false]) {
  test.describe(scripts ? "with scripts" : "without scripts", () => {
    test.use({ scripts });

    test("a stranger is sent to the sign-in page and back to where they wanted to go", async ({ shop, desk }) => {
      const who = hire(shop, "mara", "Mara Holt");
      await desk.goto("/desk/post");
      await expect(desk).toHaveURL(/\/sign-in/);
      await picture(desk, scripts ? "sign-in" : "sign-in-plain");
      if (scripts) await accessible(desk, "sign-in");
      await desk.getByLabel("Name").fill(who.signInName);
      await desk.getByLabel("Password", { exact: true }).fill("not the password");
      await desk.getByRole("button", { name: "Sign in" }).click();
      await expect(desk.getByRole("alert")).toBeVisible();
      await expect(desk.getByLabel("Name")).toHaveValue("mara");

      await signIn(desk, who);
      await desk.goto("/desk/post");
      await expect(desk).toHaveURL(/\/desk\/post/);
      expect(desk.complaints).toEqual([]);
    });
  });
}
