// The bench's pages at work: they show each other's changes as they happen, count the minutes of what is begun, and go on
// without the line. The plain forms do all this a page load later; nothing here is needed to work.
(() => {
  const { person } = document.currentScript.dataset;
  if (!document.querySelector("[data-bench]")) return;
  const worker = navigator.serviceWorker;
  const kept = Number(document.querySelector('meta[name="kept-at"]')?.content) || null;
  /** What the worker said last. */
  let now = { line: true, unsent: [], told: [] };
  let hadUnsent = false;
  /** Something was pressed in the moment in which the page changed. */
  let tooSoon = false;

  // --- time ------------------------------------------------------------------------------------------------------------

  /** Milliseconds on this device's clock when the page was made: a kept page is older than its opening. */
  let madeAt = kept ?? Date.now();

  function begin(timer, at) {
    timer.dataset.began = at;
  }

  function tick() {
    for (const timer of document.querySelectorAll(".timer[data-seconds]")) {
      timer.dataset.began ??= madeAt - Number(timer.dataset.seconds) * 1000;
      const s = Math.max(0, Math.floor((Date.now() - Number(timer.dataset.began)) / 1000));
      const planned = Number(timer.dataset.planned);
      timer.querySelector(".figures").textContent = `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
      timer.classList.toggle("over", s > planned * 60);
      timer.querySelector(".longer").hidden = s <= planned * 60;
    }
  }

  // --- what is not yet sent, drawn over the page as the server made it ---------------------------------------------------

  /** The part of the page that others change. */
  const bench = () => document.querySelector("[data-bench]");
  /** The page's own address: after a refused form the browser stands at the form's. */
  const path = () => bench().dataset.bench;

  function draw() {
    const root = bench();
    const here = now.unsent.filter(({ station }) => station === path());
    for (const one of here) {
      if (root.dataset.drawn?.split(" ").includes(String(one.n))) continue;
      root.dataset.drawn = `${root.dataset.drawn ?? ""} ${one.n}`.trim();
      const item = root.querySelector(`[data-operation="${CSS.escape(one.about)}"]`);
      const inHand = root.querySelector(`#op-${CSS.escape(one.about)}`);
      if (one.form === "setup") {
        root.dataset.open = "true";
        root.querySelector(".setup")?.replaceChildren(note("Checked; not yet sent."));
      } else if (one.form === "start" && item) {
        const begun = item.querySelector("template")?.content.cloneNode(true);
        item.hidden = true;
        if (!begun) continue;
        for (const timer of begun.querySelectorAll(".timer")) begin(timer, one.at);
        root.querySelector(".in-hand").append(begun);
      } else if (one.form === "go-on") {
        root.querySelector(`[data-held="${CSS.escape(one.about)}"] form`)?.replaceWith(note("It goes on; not yet sent."));
      } else if (["done", "check", "stop", "more", "hand-over"].includes(one.form)) {
        inHand?.remove();
        if (item) item.hidden = true;
      }
    }
    // What an earlier press was answered is no news on a kept page.
    if (kept) root.querySelector(".said")?.remove();
    line(root);
    said();
    tick();
  }

  /** Which pieces of the run can be begun, now that something was begun or ended here. */
  function line(root) {
    if (!root.dataset.room) return;
    const inHand = root.querySelectorAll(".piece-in-hand").length;
    const open = root.dataset.open === "true" && inHand < Number(root.dataset.room);
    let first = true;
    for (const item of root.querySelectorAll(".run > li:not([hidden])")) {
      const form = item.querySelector("form.start");
      if (!form) continue;
      form.hidden = !open || item.dataset.ready !== "true";
      if (form.hidden) continue;
      item.classList.toggle("first", first);
      for (const name of ["primary", "big"]) form.querySelector("button").classList.toggle(name, first);
      first = false;
    }
  }

  const paragraph = (words, className = "") => Object.assign(document.createElement("p"), { className, textContent: words });
  const note = (words) => paragraph(words, "not-sent");
  const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "numeric", minute: "2-digit" });

  let spoken = "";

  /** The strip at the foot: the line, what waits, and what a person has to look at. */
  function said() {
    // What is said already is not said again, and a button that has the focus keeps it.
    const words = JSON.stringify([now, kept, tooSoon]);
    if (words === spoken) return;
    spoken = words;
    const parts = [];
    if (tooSoon) parts.push(box("plain", paragraph("The page has just changed", "title"), paragraph("A colleague was at work in the same moment. Look, and press again.")));
    const unsent = now.unsent.length;
    const gone = !now.line || kept !== null;
    if (gone || unsent > 0) {
      // One line, as long as nobody asks: the work under it matters more.
      const count = unsent > 0 && `${unsent} ${unsent === 1 ? "press" : "presses"} not yet sent`;
      const since = kept ? ` This is how it stood at ${clock(kept)}.` : "";
      const about = document.createElement("details");
      about.className = "fold";
      about.open = document.querySelector("#line-state details")?.open ?? false;
      const title = document.createElement("summary");
      title.textContent = gone ? `No connection: ${count || "go on working"}` : count;
      const inside = Object.assign(document.createElement("div"), { className: "inside" });
      if (gone) inside.append(paragraph(`What you press is kept on this device and sent when the connection is back.${since}`));
      const list = document.createElement("ul");
      for (const one of now.unsent) {
        const item = document.createElement("li");
        item.textContent = `${clock(one.at)} ${one.words}${one.waits ? ": waits until whoever pressed it signs in here again" : ""}`;
        list.append(item);
      }
      if (unsent > 0) inside.append(list);
      about.append(title, inside);
      parts.push(box(gone ? "warn" : "plain", about));
    }
    for (const one of now.told) {
      const seen = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: "I have seen to it" });
      seen.addEventListener("click", () => ask({ do: "seen", n: one.n }));
      const why = `Pressed at ${clock(one.at)}. ${one.why} Look at how it stands now, and decide.`;
      parts.push(box("bad", paragraph(`Not counted: ${one.words}`, "title"), paragraph(why), seen));
    }
    document.querySelector("#line-state").replaceChildren(...parts);
  }

  function box(tone, ...parts) {
    const outer = Object.assign(document.createElement("div"), { className: `notice ${tone}` });
    outer.append(...parts);
    return outer;
  }

  // --- the page as others change it --------------------------------------------------------------------------------------

  /** A hand is in the middle of something: the page must not move under it. */
  function busy() {
    const changed = (field) => {
      if (field.type === "hidden" || field.type === "submit") return false;
      if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
      if (field.options) return [...field.options].some((option) => option.selected !== option.defaultSelected) && field.dataset.touched;
      return field.value !== field.defaultValue;
    };
    const root = bench();
    return [...root.querySelectorAll("input, textarea, select")].some(changed) || root.querySelector("details[data-opened][open]") !== null;
  }

  /** The page's part as the server made it, without what differs each time: the forms' keys, and the running clocks. */
  function bare(root) {
    return root.outerHTML.replace(/value="[0-9a-f]{8}-[0-9a-f-]{27}"|data-seconds="\d+"|\d+:\d\d(?=<\/span>)/g, "");
  }

  let shown = bare(bench());

  /** Milliseconds after a colleague's start or end has moved the page in which no press is taken: it was aimed at another form. */
  const SETTLING = 400;
  const inHand = (root) => [...root.querySelectorAll(".piece-in-hand")].map(({ id }) => id).join(" ");
  let movedAt = -Infinity;

  const FOCUSABLE = "a[href], button, input:not([type=hidden]), select, textarea, summary";

  /** Where a keyboard is on the page, in words that hold when the page is made anew. */
  function whereFocusIs() {
    const at = document.activeElement;
    if (!bench().contains(at)) return null;
    const around = at.closest("[data-operation], [id]");
    const of = around && bench().contains(around) ? around : bench();
    const key = of.dataset.operation ? `[data-operation="${of.dataset.operation}"]` : of.id ? `#${CSS.escape(of.id)}` : null;
    return { key, n: [...of.querySelectorAll(FOCUSABLE)].indexOf(at) };
  }

  function focusOn(place) {
    if (!place) return;
    const of = place.key ? document.querySelector(place.key) : bench();
    const target = place.n < 0 ? of : of?.querySelectorAll(FOCUSABLE)[place.n];
    // It is gone: a colleague has taken it. One goes on from the heading, not from the top of the page.
    const heading = bench().querySelector("h1");
    heading.tabIndex = -1;
    (target ?? heading).focus({ preventScroll: true });
  }

  let wanted;
  function changed() {
    clearTimeout(wanted);
    wanted = setTimeout(refresh, 120);
  }

  const refused = () => document.querySelector('[role="alert"], [aria-invalid="true"]') !== null;

  async function refresh() {
    const hold = () => {
      const held = refused() || busy();
      if (held) document.querySelector("#changed").hidden = false;
      return held;
    };
    const answer = await fetch(path(), { headers: { accept: "text/html" } }).catch(() => null);
    if (!answer) return;
    if (answer.redirected) return hold() || location.assign(path());
    if (!answer.ok) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    const next = fresh.querySelector("[data-bench]");
    // Since it was asked for, the line may have gone.
    if (!next || fresh.querySelector('meta[name="kept-at"]')) return;
    const html = bare(next);
    // Much that happens at a bench changes nothing here: then nothing moves.
    if (html === shown && !kept) {
      document.querySelector("#changed").hidden = true;
      return;
    }
    // Whoever is typing, or reads why something was refused, is told and not disturbed.
    if (hold()) return;
    if (kept) return location.assign(path());
    document.querySelector("#changed").hidden = true;
    shown = html;
    madeAt = Date.now();
    const place = whereFocusIs();
    if (inHand(bench()) !== inHand(next)) movedAt = performance.now();
    tooSoon = false;
    bench().replaceWith(document.adoptNode(next));
    draw();
    focusOn(place);
  }

  /** How often in a row the stream of changes has broken or not come about. */
  let misses = 0;

  function listen() {
    const source = new EventSource("/live");
    source.addEventListener("change", ({ data }) => {
      const { what } = JSON.parse(data);
      if (what === "bench" || what === "visit" || what === "plan" || what === "everything") changed();
    });
    source.addEventListener("hello", () => {
      misses = 0;
      ask({ do: "send", holds: true });
      // Nobody told this page what changed while it was on its way, or while the stream was broken. One that says why something was
      // refused was made by a press, and differs from what is asked for anew whatever happened.
      if (!refused()) changed();
    });
    source.addEventListener("error", () => {
      // A server that answers with an error closes the stream for good, but the line holds.
      const answered = source.readyState === EventSource.CLOSED;
      if (answered) setTimeout(listen, 5_000);
      // A stream may break and come again at once; if it does not, the line is gone.
      misses = answered ? 0 : misses + 1;
      ask(misses > 1 ? { do: "send", holds: false } : { do: "send" });
    });
    addEventListener("pagehide", () => source.close());
  }

  // --- the worker ----------------------------------------------------------------------------------------------------------

  function ask(what) {
    worker?.ready.then(({ active }) => active?.postMessage(what));
  }

  function hear({ data }) {
    now = data;
    draw();
    if (now.unsent.length > 0) hadUnsent = true;
    else if (hadUnsent && now.line) {
      hadUnsent = false;
      changed();
    }
  }

  /** What the worker has to know of a press, should it have to keep it. */
  function sign(event) {
    const form = event.target;
    const path = new URL(form.action, location.href).pathname;
    if (!path.startsWith("/bench/")) return;
    if (performance.now() - movedAt < SETTLING) {
      event.preventDefault();
      tooSoon = true;
      return said();
    }
    const add = (name, value) => {
      const field = form.querySelector(`input[name="${name}"]`) ?? form.appendChild(Object.assign(document.createElement("input"), { type: "hidden", name }));
      field.value = value;
    };
    const label = form.closest("[data-label]")?.dataset.label ?? "";
    const pressed = event.submitter?.textContent.trim() ?? "";
    add("pressed-by", person);
    add("pressed-words", pressed.includes(label) ? pressed : `${pressed} ${label}`.trim());
  }

  document.addEventListener("submit", sign);
  document.addEventListener("change", ({ target }) => (target.dataset.touched = "true"));
  // A click on a summary is a hand; what the page opens by itself is not.
  document.addEventListener("click", ({ target }) => {
    const fold = target.closest("summary")?.parentElement;
    if (fold) fold.dataset.opened = "true";
  });
  addEventListener("online", () => ask({ do: "send" }));
  setInterval(tick, 1_000);
  // Without the line, try again now and then; with it, the stream of changes tells.
  setInterval(() => (!now.line || kept || now.unsent.length > 0) && ask({ do: "send" }), 3_000);
  tick();
  listen();
  if (!worker) return;
  worker.addEventListener("message", hear);
  worker.register("/bench-worker.js", { scope: "/bench" }).catch(() => {});
  ask({ do: "state" });
  addEventListener("load", () => {
    if (kept) return;
    const used = performance.getEntriesByType("resource").map(({ name }) => new URL(name).pathname);
    const named = [...document.querySelectorAll("link[href], script[src]")].map(({ href, src }) => new URL(href || src).pathname);
    const stations = [...document.querySelectorAll("a.station-card")].map(({ pathname }) => pathname);
    const files = [...new Set([...used, ...named])].filter((file) => file.startsWith("/pkg/"));
    ask({ do: "keep", files, pages: ["/bench", path(), ...stations] });
  });
})();
