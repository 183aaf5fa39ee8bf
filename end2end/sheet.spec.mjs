// The inspection sheet on a slow line: it is a form before its program comes, and what was typed by then counts.
import { book, receive, referenceOf } from "./day.mjs";
import { DESK } from "./look.mjs";
import { hire, signIn } from "./staff.mjs";
import { expect, test } from "./test.mjs";

test("what is typed on the sheet before its program comes is worked out when it does", async ({ shop, person }) => {
  const desk = await person(DESK);
  await signIn(desk, hire(shop, "mara", "Mara Holt"));
  const [tag] = await receive(desk, await referenceOf(shop, await book(shop, "Ines Boto", [{ mark: "DN-21" }])));

  let arrive;
  const arrived = new Promise((resume) => (arrive = resume));
  await desk.route(/\/pkg\/web-.*\.wasm/, async (route) => {
    await arrived;
    await route.continue();
  });
  await desk.goto("/desk");
  await desk.getByLabel("Tag or reference").fill(tag);
  await desk.getByLabel("Tag or reference").press("Enter");
  const answer = desk.getByRole("complementary", { name: "What it comes to" });
  const before = await answer.innerText();
  // Neither is the width it was booked with: the answer the program gives differs from the one it finds.
  await desk.getByLabel("Height, middle").fill("36,4");
  await desk.getByLabel("Behind the edge").first().fill("0.42");
  expect(await answer.innerText()).toBe(before);

  arrive();
  await expect(answer).not.toHaveText(before, { useInnerText: true });
  await expect(answer.getByRole("img").first()).toBeVisible();
  const awake = await answer.innerText();
  await desk.getByLabel("Height, middle").fill("34,4");
  await expect(answer).not.toHaveText(awake, { useInnerText: true });
  expect(desk.complaints).toEqual([]);
});
