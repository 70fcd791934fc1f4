// Joins the parts on a page with a camera: what is seen or typed is sent, answered and told.
import { watch } from "scanner/camera";
import { codeIn, compact, shown } from "scanner/codes";
import { all, forget, keep } from "scanner/kept";
import { replay } from "scanner/replay";
import { offerSwitches, signal } from "scanner/signals";
import { _ } from "scanner/words";

const EVERY = 30_000; // ms between two tries to send what is kept
const WHY = {
  network: _("No network."),
  server: _("The server does not answer."),
  "sign-in": _("You are signed out, or the phone is locked: load this page again."),
};
const LAST = "scanner.answered"; // what the page before this one has answered
const root = document.getElementById("camera");
const form = document.getElementById("scan-form");
const told = document.getElementById("told");
let inView = [];
let stored = true; // whether this browser keeps anything; one that does not sends the plain form

const element = (name, text = "", style = "") => {
  const made = document.createElement(name);
  made.textContent = text;
  made.className = style;
  return made;
};
const say = (words) => (document.getElementById("camera-says").textContent = words);

/** Show the answer to a scan, large: `tone` gives shape and colour, `word` is read across the room. */
function tell(tone, word, ...lines) {
  const box = element("div", "", `answer ${tone}`);
  const shape = document.getElementById(`shape-${tone}`).content.cloneNode(true);
  const words = element("div");
  words.append(...lines.map((line) => (line instanceof Node ? line : element("p", line))));
  box.append(shape, element("strong", word), words);
  told.replaceChildren(box);
}

/** What was read is none of ours: it is shown as text and never followed. */
function notOurs(text) {
  signal("unknown");
  tell("unknown", _("NOT OUR TAG"), _("This was read, and was not opened:"), element("p", text.slice(0, 200), "code read"));
}

/** Two tags in view: a person says which is meant; until then nothing more is read. */
function ask(codes) {
  const box = document.getElementById("which");
  root.dataset.paused = "yes";
  const done = (code) => {
    box.replaceChildren();
    delete root.dataset.paused;
    if (code) take(code);
  };
  const choice = (words, code, style) => {
    const button = element("button", words, style);
    button.type = "button";
    button.onclick = () => done(code);
    return button;
  };
  const row = element("div", "", "row");
  row.append(...codes.map((code) => choice(shown(code), code, "code")), choice(_("None of them"), "", "quiet"));
  box.replaceChildren(element("p", _("More than one tag is in view. Which one do you mean?")), row);
  row.firstElementChild.focus();
}

function seen(texts) {
  inView = texts;
  const hosts = root.dataset.hosts.toLowerCase().split(" ");
  const codes = [...new Set(texts.map((text) => codeIn(text, hosts)).filter(Boolean))];
  if (codes.length > 1) return ask(codes);
  return codes.length ? take(codes[0]) : notOurs(texts[0]);
}

/** One code that checks: open its page, or give it to the work of this page. */
async function take(code) {
  if (root.dataset.mode === "open") {
    root.dataset.paused = "yes";
    say(_("Read {code}. Opening it", { code: shown(code) }));
    location.assign(`${form.action}?code=${code}`);
    return;
  }
  if (!stored) {
    sessionStorage.setItem(LAST, JSON.stringify(inView));
    form.elements.code.value = code;
    form.requestSubmit();
    return;
  }
  const random = crypto.getRandomValues(new Uint8Array(12));
  const once = Array.from(random, (byte) => byte.toString(16).padStart(2, "0")).join("");
  const { csrfmiddlewaretoken: _token, ...fields } = Object.fromEntries(new FormData(form));
  await keep({
    url: location.pathname,
    user: root.dataset.user,
    fields: { ...fields, code, once },
    basedOn: root.dataset.version,
    page: document.querySelector("h1").textContent,
    at: new Date().toISOString(),
    tried: false,
    state: "waiting",
  });
  const why = await sendAll();
  if (why) {
    signal("unknown");
    const kept = _("The scan of {code} is kept on this phone and sent as soon as it can be.", { code: shown(code) });
    tell("kept", _("NOT CHECKED"), `${WHY[why]} ${kept}`);
  }
}

async function sendAll() {
  if (!stored) return "";
  const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
  const why = await replay({ user: root.dataset.user, token, answered });
  await list(why);
  return why;
}

function answered(scan, answer) {
  signal(answer.tone);
  told.replaceChildren(...answer.told.children);
  if (answer.tone === "fail" && !answer.word) tell("fail", _("REFUSED"), answer.says);
  told.scrollIntoView({ block: "nearest" });
  if (scan.url !== location.pathname) return;
  if (root.dataset.mode === "once" && answer.tone !== "fail") {
    sessionStorage.setItem(LAST, JSON.stringify(inView));
    location.assign(answer.url);
    return;
  }
  if (answer.version) root.dataset.version = answer.version;
  const main = answer.page.getElementById("main");
  const parts = answer.page.getElementById("work")?.children ?? main.children;
  const work = [...parts].filter((part) => part.id !== "told");
  document.getElementById("work").replaceChildren(...work);
}

/** The scans that the server has not answered, amber, and those that it refused. */
async function list(why) {
  const box = document.getElementById("unchecked");
  const kept = await all();
  const mine = kept.filter((scan) => scan.user === root.dataset.user);
  const waiting = mine.filter((scan) => scan.state === "waiting").length;
  const counts = [];
  if (waiting) counts.push(_("{count} not checked.", { count: waiting }), WHY[why] ?? "");
  if (mine.length > waiting) counts.push(_("{count} refused after all.", { count: mine.length - waiting }));
  if (kept.length > mine.length) counts.push(_("{count} of somebody else wait until they sign in.", { count: kept.length - mine.length }));
  const rows = element("ul", "", "rows");
  rows.append(...mine.map(row));
  const count = element("p", counts.join(" "));
  count.setAttribute("role", "status");
  box.replaceChildren(count, rows);
  box.hidden = !kept.length;
}

function row(scan) {
  const line = element("li");
  const what = element("span");
  const waits = scan.state === "waiting";
  const word = waits ? _("not checked") : (scan.word || _("refused")).toLowerCase();
  what.append(element("span", word, `word ${waits ? "caution" : "fail"}`), " ", element("span", shown(scan.fields.code), "code"));
  const when = new Date(scan.at).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit" });
  what.append(element("br"), element("small", `${scan.page}, ${when}. ${waits ? "" : scan.says}`));
  line.append(what);
  if (!waits) {
    const button = element("button", _("Seen"), "quiet");
    button.type = "button";
    button.onclick = async () => {
      await forget(scan.place);
      await list("");
    };
    line.append(button);
  }
  return line;
}

if (root) {
  root.hidden = false;
  offerSwitches(document.getElementById("signals"));
  if (root.dataset.mode === "post") {
    form.addEventListener("submit", (event) => {
      const code = compact(form.elements.code.value) || codeIn(form.elements.code.value.trim(), root.dataset.hosts.toLowerCase().split(" "));
      if (!code || !stored) return; // the server says what it was instead
      event.preventDefault();
      event.stopPropagation();
      form.elements.code.value = "";
      take(code);
    });
  }
  stored = await all().then(() => true, () => false);
  sendAll();
  window.addEventListener("online", sendAll);
  setInterval(sendAll, EVERY);
  const known = JSON.parse(sessionStorage.getItem(LAST) ?? "[]");
  sessionStorage.removeItem(LAST);
  watch(root, { seen, say, known });
}
