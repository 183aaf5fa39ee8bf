// Beside the booking form, which works without any of this: answers while one types (the program in data-answers, the same code
// as on the server, loaded when the form stands), pictures made smaller before they are sent, and a draft kept on this device.
const DRAFT = "whetledger.booking";
const form = document.getElementById("booking");
const store = {
  get: () => { try { return localStorage.getItem(DRAFT); } catch { return null; } },
  set: (text) => { try { localStorage.setItem(DRAFT, text); } catch { /* a full or closed store keeps no draft */ } },
  drop: () => { try { localStorage.removeItem(DRAFT); } catch { /* nothing to drop */ } },
};

// Booked: the draft goes from this device.
if (document.getElementById("booking-done")) store.drop();
if (form) {
  draft();
  pictures();
  answers();
}

/** The form's texts as a query; files stay out. */
function query() {
  const texts = [...new FormData(form)].filter(([, value]) => typeof value === "string");
  return new URLSearchParams(texts).toString();
}

function draft() {
  const offer = document.getElementById("booking-draft");
  const typed = new URLSearchParams(query());
  const bare = !typed.get("name") && ![...typed].some(([name, value]) => name.endsWith("[model]") && value);
  const kept = store.get();
  // A fresh page with nothing typed offers the draft; one that came back from the server goes on writing it.
  if (offer && kept && bare) offer.classList.remove("none");
  form.addEventListener("input", () => {
    store.set(query());
    offer?.classList.add("none");
  });
  offer?.querySelector("[name=go-on]").addEventListener("click", () => {
    // Sent as if it had just been typed; the same form comes back, filled.
    const again = document.createElement("form");
    again.method = "post";
    again.action = form.action;
    const texts = new URLSearchParams(kept);
    texts.set("do", "show");
    for (const [name, value] of texts) {
      const input = document.createElement("input");
      input.type = "hidden";
      input.name = name;
      input.value = value;
      again.append(input);
    }
    document.body.append(again);
    again.submit();
  });
  offer?.querySelector("[name=throw-away]").addEventListener("click", () => {
    store.drop();
    offer.classList.add("none");
  });
}

/** Pictures straight from a phone are larger than anybody looks at: 2,000 pixels tell a chip from a scratch. */
function pictures() {
  const MOST = 2000;
  for (const input of form.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", async () => {
      const small = new DataTransfer();
      for (const file of input.files) small.items.add(await smaller(file));
      input.files = small.files;
    });
  }
  async function smaller(file) {
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, MOST / Math.max(picture.width, picture.height));
      if (scale === 1 && file.size < 1_000_000) return file;
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      return blob && blob.size < file.size ? new File([blob], "picture.jpg", { type: "image/jpeg" }) : file;
    } catch {
      return file; // The server looks at it, and says what is wrong.
    }
  }
}

async function answers() {
  const program = document.querySelector("script[data-answers]")?.dataset.answers;
  const aid = document.getElementById("booking-aid")?.textContent;
  if (!program || !aid) return;
  const answer = await import(program);
  await answer.default();
  const counter = answer.Counter.read(aid);
  if (!counter) return;
  const places = [...document.querySelectorAll("[data-answer]")];
  const sum = document.getElementById("booking-sum");
  const show = (changed) => {
    const text = query();
    for (const place of places) {
      const own = `knives[${place.dataset.answer}]`;
      if (changed === undefined || changed.startsWith(own) || changed === "rush") {
        const open = place.querySelector("details")?.open;
        place.innerHTML = counter.answer(text, Number(place.dataset.answer));
        if (open) place.querySelector("details")?.setAttribute("open", "");
      }
    }
    if (sum) sum.innerHTML = counter.sum(text);
  };
  // Once now, for what was typed before we woke; then after every change.
  show();
  form.addEventListener("input", ({ target }) => {
    show(target?.name ?? "");
    const echo = document.getElementById(`${target?.id}-echo`);
    if (echo) echo.value = counter.echo(target.value);
  });
  form.dataset.awake = "true";
}
