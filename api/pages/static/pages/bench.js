// What a page can do better with a script; every page works without.
(() => {
  const scan = document.getElementById("scan");
  // A hand scanner types wherever the page is: without a field in focus, its signs go to the scan field.
  document.addEventListener("keydown", (event) => {
    const idle = document.activeElement === document.body || document.activeElement?.id === "main";
    if (scan && idle && event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) scan.focus();
  });
  // One tap, one post: the server would answer the second alike, but nobody should wonder.
  document.addEventListener("submit", (event) => {
    if (event.target.getAttribute("method") !== "post") return;
    if (event.target.dataset.sent) event.preventDefault();
    event.target.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", () => {
    for (const sent of document.querySelectorAll("[data-sent]")) delete sent.dataset.sent;
  });
  // What the server makes of a form, while it is filled in.
  const live = (form, target) => {
    let timer, asked = 0;
    form.addEventListener("input", () => {
      clearTimeout(timer);
      timer = setTimeout(async () => {
        const mine = ++asked;
        const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
        try {
          const answer = await fetch(form.dataset.fragment, { method: "POST", body: new FormData(form), headers: { "X-CSRFToken": token } });
          if (answer.ok && mine === asked) target.innerHTML = await answer.text();
        } catch { /* without a network the button still asks */ }
      }, 350);
    });
  };
  for (const [form, target] of [["stamp-form", "reading"], ["fill-form", "limits"]]) {
    const found = document.getElementById(form);
    if (found) live(found, document.getElementById(target));
  }
  // The screen in the workshop looks again each minute.
  if (document.body.classList.contains("wall")) setTimeout(() => location.reload(), 60000);
})();
