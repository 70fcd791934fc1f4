// The camera of the page: frames go to a worker, at most fifteen a second, and texts come back.
import { _ } from "scanner/words";

const PAUSE = 1000 / 15;
const AWAY = 1500; // ms out of view, after which a code counts as shown again
const MOST_MISSED = 30;
const WAYS_ON = _("Type the code, use a hand scanner, or send a photo.");
const orElse = (fault) => `${fault} ${WAYS_ON}`;
const WANTED = {
  audio: false,
  video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } },
};
const FAULTS = {
  NotAllowedError: orElse(_("This page may not use the camera. Allow it in the browser's settings for this site and load the page again.")),
  NotFoundError: orElse(_("There is no camera on this device.")),
  NotReadableError: orElse(_("Another program holds the camera. Close it and load the page again.")),
  insecure: orElse(_("A camera needs a secure connection, and this page came over plain http.")),
  reader: orElse(_("The camera works, but the reader of codes did not load. Load the page again.")),
};

/**
 * Watch through the camera of `root` and call `seen` with texts that are new in view; `known` are
 * those that the page before this one has answered, and which may still be in view.
 * Two readings must agree, so that a second code which only one of them caught is not missed: those
 * of two frames, or where the browser has a detector of its own, that one's and ours of one frame.
 */
export async function watch(root, { seen, say, known = [] }) {
  if (!window.isSecureContext || !navigator.mediaDevices) return say(FAULTS.insecure);
  const video = root.querySelector("video");
  try {
    say(_("Starting the camera"));
    video.srcObject = await navigator.mediaDevices.getUserMedia(WANTED);
    await video.play();
  } catch (fault) {
    return say(FAULTS[fault.name] ?? orElse(_("The camera did not start ({name}).", { name: fault.name })));
  }
  root.classList.add("sees");
  const [track] = video.srcObject.getVideoTracks();
  track.onended = () => {
    root.classList.remove("sees");
    say(FAULTS.NotReadableError);
  };
  offerLight(root, track);
  try {
    const [read, glance] = [await reader(root.dataset), await ownDetector()];
    say(_("Hold a tag in view"));
    const freshIn = memory(known);
    let missed = 0; // frames in a row that could not be read: a camera may stumble, not stay down
    while (track.readyState === "live") {
      const began = performance.now();
      if (!document.hidden && !root.dataset.paused && video.readyState >= 2) {
        const picture = await inView(video).catch((fault) => fault);
        const glanced = picture instanceof Error ? [] : await glance(picture);
        const texts = picture instanceof Error ? picture : await read(picture).catch((fault) => fault);
        missed = texts instanceof Error ? missed + 1 : 0;
        if (missed > MOST_MISSED && track.readyState === "live") throw texts;
        const fresh = missed ? [] : freshIn(texts, glanced);
        if (fresh.length && !root.dataset.paused) await seen(fresh);
      }
      await new Promise((go) => setTimeout(go, Math.max(0, PAUSE - (performance.now() - began))));
    }
  } catch (fault) {
    console.warn(fault);
    say(FAULTS.reader);
  }
}

/** What a person sees in the window, which shows the middle of the picture; nothing beside it counts. */
function inView(video) {
  const { videoWidth: width, videoHeight: height, clientWidth, clientHeight } = video;
  const scale = Math.max(clientWidth / width, clientHeight / height);
  const [across, down] = [clientWidth / scale, clientHeight / scale];
  return createImageBitmap(video, (width - across) / 2, (height - down) / 2, across, down);
}

/** The browser's own detector: it only confirms what our reader read, so none of its faults count. */
async function ownDetector() {
  const formats = (await globalThis.BarcodeDetector?.getSupportedFormats().catch(() => [])) ?? [];
  if (!formats.includes("qr_code")) return async () => [];
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  return (picture) => detector.detect(picture).then((found) => found.map((one) => one.rawValue), () => []);
}

function memory(known) {
  const answered = new Map(known.map((text) => [text, performance.now()])); // when last in view
  let before = "";
  const listed = (texts) => [...new Set(texts)].filter((text) => !answered.has(text)).sort();
  return (texts, glanced) => {
    const now = performance.now();
    for (const [text, at] of answered) if (now - at > AWAY) answered.delete(text);
    for (const text of texts) if (answered.has(text)) answered.set(text, now);
    const fresh = listed(texts);
    const read = fresh.join("\n");
    const same = read === before || read === listed(glanced).join("\n");
    before = read;
    if (!fresh.length || !same) return [];
    for (const text of fresh) answered.set(text, now);
    return fresh;
  };
}

async function reader({ reader, decoder, wasm }) {
  const whole = (path) => JSON.stringify(new URL(path, location.href).href);
  // A worker of this page's own making keeps this page's policy, which alone allows WebAssembly.
  const program = new Blob([`importScripts(${whole(reader)}, ${whole(decoder)})`], { type: "text/javascript" });
  const worker = new Worker(URL.createObjectURL(program));
  const ask = (message, transfer) =>
    new Promise((answer, fail) => {
      worker.onmessage = ({ data }) => (data.fault ? fail(new Error(data.fault)) : answer(data));
      worker.onerror = () => fail(new Error("the worker did not start"));
      worker.postMessage(message, transfer);
    });
  await ask({ wasm: new URL(wasm, location.href).href });
  return async (picture) => (await ask({ picture }, [picture])).texts;
}

function offerLight(root, track) {
  const button = root.querySelector("#torch");
  if (!track.getCapabilities?.().torch) return;
  button.hidden = false;
  button.onclick = async () => {
    const on = button.getAttribute("aria-pressed") !== "true";
    await track.applyConstraints({ advanced: [{ torch: on }] });
    button.setAttribute("aria-pressed", String(on));
  };
}
