// A camera for the fields that take a tag: the code it sees is typed into the field and sent, as a hand scanner does it.
// Where the browser reads codes itself (BarcodeDetector) that is used; else a reader is fetched, once the camera is asked for.
(() => {
  if (!navigator.mediaDevices?.getUserMedia) return;
  /** Milliseconds between two looks: a hand holds a tag still for about a second. */
  const LOOK_EVERY = 120;
  /** Pixels of the longer side that are looked at: enough for a tag that fills a quarter of the picture. */
  const LOOKED_AT = 720;

  for (const field of document.querySelectorAll(".scan input:not([type=hidden])")) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: "Scan with the camera" });
    button.addEventListener("click", () => scan(field, button));
    field.closest(".scan").append(button);
  }

  async function scan(field, button) {
    const dialog = document.createElement("dialog");
    dialog.className = "camera";
    dialog.setAttribute("aria-label", "Camera");
    const video = Object.assign(document.createElement("video"), { playsInline: true, muted: true });
    const said = Object.assign(document.createElement("p"), { textContent: "Hold the tag before the camera." });
    said.setAttribute("role", "status");
    const away = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: "Close" });
    away.addEventListener("click", () => dialog.close());
    dialog.append(video, said, away);
    document.body.append(dialog);
    dialog.showModal();
    let stream;
    let open = true;
    dialog.addEventListener("close", () => {
      open = false;
      stream?.getTracks().forEach((track) => track.stop());
      dialog.remove();
      button.focus();
    });
    let look;
    try {
      [stream, look] = await Promise.all([
        navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false }),
        reader(),
      ]);
    } catch (error) {
      said.textContent = error.name === "NotAllowedError" ? "The camera is not allowed here. Type the tag, or use a hand scanner." : "There is no camera that works here. Type the tag, or use a hand scanner.";
      return;
    }
    if (!open) return stream.getTracks().forEach((track) => track.stop());
    video.srcObject = stream;
    await video.play();
    while (open) {
      const code = video.videoWidth > 0 ? await look(video) : null;
      if (code && open) {
        dialog.close();
        field.value = code;
        // The first button of a form is the one that Enter presses, and a hand scanner ends with Enter.
        field.form.requestSubmit(field.form.querySelector("button:not([type=button])"));
        return;
      }
      await new Promise((wait) => setTimeout(wait, LOOK_EVERY));
    }
  }

  /** What looks at a picture and gives the code it sees, or null. */
  async function reader() {
    const known = (await globalThis.BarcodeDetector?.getSupportedFormats?.().catch(() => [])) ?? [];
    if (known.includes("qr_code")) {
      const detector = new globalThis.BarcodeDetector({ formats: ["qr_code"] });
      return async (video) => (await detector.detect(video).catch(() => []))[0]?.rawValue ?? null;
    }
    await new Promise((loaded, failed) => {
      if (globalThis.jsQR) return loaded();
      const script = Object.assign(document.createElement("script"), { src: "{{jsqr.js}}", onload: loaded, onerror: failed });
      document.head.append(script);
    });
    const canvas = document.createElement("canvas");
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    return (video) => {
      const scale = Math.min(1, LOOKED_AT / Math.max(video.videoWidth, video.videoHeight));
      canvas.width = Math.round(video.videoWidth * scale);
      canvas.height = Math.round(video.videoHeight * scale);
      pen.drawImage(video, 0, 0, canvas.width, canvas.height);
      const { data, width, height } = pen.getImageData(0, 0, canvas.width, canvas.height);
      return globalThis.jsQR(data, width, height, { inversionAttempts: "dontInvert" })?.data || null;
    };
  }
})();
