// What a page can do better with a script; every page works without.
(() => {
  const form = document.getElementById("stamp-form");
  const scan = document.getElementById("scan");
  // A hand scanner types wherever the page is: without a field in focus, its signs go to the scan field.
  document.addEventListener("keydown", (event) => {
    const idle = document.activeElement === document.body || document.activeElement?.id === "main";
    if (scan && idle && event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) scan.focus();
  });
  // One tap, one post: the server would answer the second alike, but nobody should wonder.
  document.addEventListener("submit", (event) => {
    if (event.target.method !== "post") return;
    if (event.target.dataset.sent) event.preventDefault();
    event.target.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", () => {
    for (const sent of document.querySelectorAll("[data-sent]")) delete sent.dataset.sent;
  });
  const live = (box, url, target, wait) => {
    let timer, asked = 0;
    box.addEventListener("input", () => {
      clearTimeout(timer);
      timer = setTimeout(async () => {
        const mine = ++asked;
        const body = new FormData(box.form);
        const token = document.querySelector("[name=csrfmiddlewaretoken]");
        try {
          const answer = await fetch(url, { method: "POST", body, headers: { "X-CSRFToken": token.value } });
          if (answer.ok && mine === asked) target.innerHTML = await answer.text();
        } catch { /* without a network the button still asks */ }
      }, wait);
    });
  };
  if (form) live(form.elements.stamp, form.dataset.fragment, document.getElementById("reading"), 350);
  // The screen in the workshop looks again each minute.
  if (document.body.classList.contains("wall")) setTimeout(() => location.reload(), 60000);
  const fill = document.getElementById("fill-form");
  if (fill) for (const name of ["percent", "pressure"]) live(fill.elements[name], fill.dataset.fragment, document.getElementById("limits"), 350);
})();
