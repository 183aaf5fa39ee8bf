// Customers without a browser, who book all the time and remember what they were told.
const address = (mine) => `customer${mine}@example.com`;
/** Each knocks from an address of their own, as behind a proxy. */
const from = (mine) => ({ "x-forwarded-for": `203.0.${Math.floor(mine / 250) % 250}.${mine % 250}` });

/** A crowd at the doors of some servers of one shop. */
export class Crowd {
  constructor(urls) {
    this.urls = urls;
    /** Who was told that their booking stands: { mine, form, where }. */
    this.confirmed = [];
    /** Who got no answer, or an apology. */
    this.unanswered = [];
    this.serial = 0;
    this.running = [];
    this.stopped = false;
  }

  /** Lets `n` people book one after another until `stop`. */
  start(n) {
    this.stopped = false;
    this.running = Array.from({ length: n }, () => this.#keepBooking());
  }

  async stop() {
    this.stopped = true;
    await Promise.all(this.running);
  }

  async #keepBooking() {
    while (!this.stopped) {
      const mine = ++this.serial;
      const url = this.urls[mine % this.urls.length];
      let form;
      try {
        form = await emptyForm(url, mine);
        const where = await book(url, form, mine);
        this.confirmed.push({ mine, form, where });
      } catch {
        if (form) this.unanswered.push({ mine, form });
        // The door is shut; a person looks again in a moment.
        await new Promise((resume) => setTimeout(resume, 100));
      }
    }
  }

  /** Whose booking is no longer there, of all who were told that it stands. */
  async lost(url = this.urls[0]) {
    const lost = [];
    for (const { mine, where } of this.confirmed) {
      const page = await fetch(url + where, { headers: from(mine) });
      const text = await page.text();
      if (page.status !== 200 || !referenceOn(text)) {
        if (lost.length === 0) process.stderr.write(`lost: ${page.status} ${wordsOf(text)}\n`);
        lost.push(mine);
      }
    }
    return lost;
  }

  /** Everybody sends their form once more, as an impatient finger does. Gives those whom that booked another visit. */
  async sendAllAgain(url = this.urls[0]) {
    const doubled = [];
    const reference = async (where, mine) => referenceOn(await (await fetch(url + where, { headers: from(mine) })).text());
    for (const { mine, form, where } of this.confirmed) {
      // A fresh link may lead there; the visit is the same.
      const again = await book(url, form, mine);
      if ((await reference(again, mine)) !== (await reference(where, mine))) doubled.push(mine);
    }
    for (const one of this.unanswered.splice(0)) this.confirmed.push({ ...one, where: await book(url, one.form, one.mine) });
    return doubled;
  }

  /** Everybody who must have exactly one kind of letter: the request to confirm. */
  addresses() {
    return this.confirmed.map(({ mine }) => address(mine));
  }
}

/** The visit's reference on its private page. */
const referenceOn = (html) => html.match(/[0-9A-Z]{4}-[0-9A-Z]{4}/)?.[0];
const wordsOf = (html) => html.replace(/<(script|style)[^>]*>.*?<\/\1>/gs, " ").replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").slice(0, 300);

async function emptyForm(url, mine) {
  const html = await (await fetch(`${url}/book`, { headers: from(mine) })).text();
  const value = (name) => {
    const tag = html.match(new RegExp(`<input[^>]*name="${name.replace(/[[\]]/g, "\\$&")}"[^>]*>`))?.[0];
    const found = tag?.match(/value="([^"]*)"/)?.[1];
    if (!found) throw new Error(`the booking form has no ${name}`);
    return found;
  };
  return { key: value("key"), place: value("knives[0][place]"), model: value("knives[0][model]") };
}

async function book(url, { key, place, model }, mine) {
  const body = new FormData();
  const fields = {
    key, "knives[0][place]": place, "knives[0][model]": model, "knives[0][dull]": "true",
    arrival: "post", packing: "true", back: "post", refused: "back",
    name: `Customer ${mine}`, email: address(mine), street: "Main Street 1", postcode: "12345", town: "Anytown", country: "Germany",
    begin_early: "true", do: "book",
  };
  for (const [name, text] of Object.entries(fields)) body.set(name, text);
  const answer = await fetch(`${url}/book`, { method: "POST", body, redirect: "manual", headers: from(mine) });
  const text = await answer.text();
  if (answer.status !== 303) throw new Error(`${answer.status}: ${wordsOf(text)}`);
  return answer.headers.get("location");
}
