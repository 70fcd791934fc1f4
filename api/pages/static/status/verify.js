// Checks the certificate after the # of the address in this browser, with the keys in the page:
// nothing is sent, so it also works without a network. Where the browser cannot do Ed25519, the
// form below sends it to the shop instead.
"use strict";
(() => {
  const form = document.getElementById("check");
  const field = document.getElementById("certificate");
  const verdict = document.getElementById("verdict");
  const facts = document.getElementById("facts");
  const keys = JSON.parse(document.getElementById("keys").textContent).keys;
  const block = document.getElementById("phrases");
  const phrases = block ? JSON.parse(block.textContent) : {};
  const translated = (phrase) => phrases[phrase] ?? phrase;
  const _ = translated; // marks a phrase for the catalogue
  const bytes = (text) =>
    Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const json = (text) => JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes(text)));
  const amount = (q) => (q ? `${q.value} ${q.unit}` : "");
  const lines = (c) => [
    [_("Specification"), c.mark],
    [_("Service pressure"), amount(c.pressure)],
    [_("Serial"), c.serial],
    [_("Maker's mark"), c.maker],
    [_("Tested on"), c.date],
    [_("Method"), translated(c.method.replaceAll("_", " "))],
    [_("Test pressure"), amount(c.test_pressure)],
    [_("Total expansion"), amount(c.total)],
    [_("Permanent expansion"), amount(c.permanent)],
    [_("Share that stayed"), c.percent ? `${c.percent} %` : ""],
    [_("Result as recorded"), translated(c.verdict)],
    [_("Good through the end of"), c.next_due],
    [_("Requalifier's number"), c.rin],
    [_("Lab's record"), c.record],
  ];
  const say = (tone, word, text) => {
    const box = document.createElement("div");
    box.className = `answer ${tone}`;
    const strong = document.createElement("strong");
    strong.textContent = word;
    const p = document.createElement("p");
    p.textContent = text;
    box.append(strong, p);
    verdict.replaceChildren(box);
  };
  const show = (claims) => {
    facts.replaceChildren();
    for (const [name, value] of lines(claims)) {
      if (!value) continue;
      const dt = document.createElement("dt");
      const dd = document.createElement("dd");
      dt.textContent = name;
      dd.textContent = value;
      facts.append(dt, dd);
    }
    facts.hidden = false;
  };
  const canCheck = async () => {
    try {
      await crypto.subtle.importKey("jwk", { kty: "OKP", crv: "Ed25519", x: keys[0].x }, "Ed25519", false, ["verify"]);
      return true;
    } catch {
      return false;
    }
  };
  const check = async (text) => {
    facts.hidden = true;
    const [head, body, signature, ...more] = text.replace(/\s/g, "").split(".");
    try {
      const header = json(head);
      const jwk = keys.find((key) => key.kid === header.kid);
      if (!jwk) return say("fail", _("NOT GENUINE"), _("This was not signed by a key of this shop. Do not use it."));
      if (header.alg !== "Ed25519" || more.length) throw new Error("form");
      const plain = { kty: "OKP", crv: "Ed25519", x: jwk.x };
      const key = await crypto.subtle.importKey("jwk", plain, "Ed25519", false, ["verify"]);
      const signed = new TextEncoder().encode(`${head}.${body}`);
      if (!(await crypto.subtle.verify("Ed25519", key, bytes(signature), signed))) throw new Error("signature");
      show(json(body));
      say("ok", _("GENUINE"), _("Signed by the shop, and not changed since. Checked in this browser."));
    } catch {
      say("fail", _("NOT GENUINE"), _("It was changed after it was signed, or not all of it was copied. Do not use it."));
    }
  };
  const start = async () => {
    if (!keys.length || !crypto.subtle || !(await canCheck())) {
      field.value = location.hash.slice(1); // the form asks the shop
      return;
    }
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      check(field.value.split("#").pop());
    });
    const now = () => location.hash.length > 1 && check(location.hash.slice(1));
    addEventListener("hashchange", now);
    now();
  };
  // Kept on this phone, so that the page opens without a network too: itself, and what it loads.
  const keep = async () => {
    if (!("serviceWorker" in navigator) || !("caches" in window)) return;
    const loaded = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")];
    const kept = await caches.open("verify-1");
    await kept.addAll(["/verify", ...loaded.map((one) => one.href || one.src)]);
    for (const scope of ["/verify", "/VERIFY"]) await navigator.serviceWorker.register("/verify-worker.js", { scope });
    document.documentElement.dataset.kept = "yes";
  };
  start();
  keep().catch(() => {}); // without it the page needs a network, and says all the same
})();
