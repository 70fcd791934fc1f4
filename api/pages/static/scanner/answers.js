// One scan is sent as the form of its page would be, and the page that comes back is the answer.
import { _ } from "scanner/words";

const PATIENCE = 10_000; // ms
const TONES = ["ok", "fail", "unknown", "caution"];

/** Raised where the server has not judged; `why` is "network", "server" or "sign-in". */
export class NotAnswered extends Error {
  constructor(why) {
    super(why);
    this.why = why;
  }
}

/** Send `scan`, made anew with `token`; a scan that was kept says what it was based on. */
export async function send(scan, token) {
  const body = new URLSearchParams({ ...scan.fields, csrfmiddlewaretoken: token });
  const headers = { "X-Scanned-By": scan.user };
  if (scan.tried && scan.basedOn) headers["X-Based-On"] = scan.basedOn;
  let answer, text;
  try {
    answer = await fetch(scan.url, { method: "POST", body, headers, signal: AbortSignal.timeout(PATIENCE) });
    text = await answer.text();
  } catch {
    throw new NotAnswered("network");
  }
  const page = new DOMParser().parseFromString(text, "text/html");
  const told = page.getElementById("told");
  if (answer.status === 404) {
    const says = _("The page that it was scanned on is no longer there.");
    return { page, told: document.createElement("div"), tone: "fail", word: "", says, version: "" };
  }
  if (answer.status === 403 || answer.status === 423) throw new NotAnswered("sign-in");
  if (!told?.childElementCount || answer.status >= 500) {
    throw new NotAnswered(answer.redirected ? "sign-in" : "server");
  }
  const box = told.firstElementChild;
  return {
    page,
    url: answer.url,
    told,
    tone: TONES.find((tone) => box.classList.contains(tone)) ?? "unknown",
    word: box.querySelector("strong")?.textContent ?? "",
    says: box.querySelector("p")?.textContent ?? "",
    version: page.getElementById("camera")?.dataset.version ?? "",
  };
}
