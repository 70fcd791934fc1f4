// Says of a typed code at once whether it checks; whether a tag bears it, only the server knows.
const { codes, checks: good, misread: bad } = document.getElementById("check-typed").dataset;
const { compact } = await import(codes);
const field = document.getElementById("scan");
const LENGTH = 13;
const WAIT = 250; // ms: what a hand scanner types is sent before anybody could read this
let timer;

if (field) {
  const verdict = document.createElement("output");
  field.labels[0].after(verdict);
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const whole = field.value.replace(/[ -]/g, "").length === LENGTH;
      const checks = whole && compact(field.value) !== "";
      verdict.className = whole ? `word ${checks ? "ok" : "fail"}` : "";
      verdict.textContent = whole ? (checks ? good : bad) : "";
    }, WAIT);
  });
}
