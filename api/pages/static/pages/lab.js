// The judgement while somebody types; without a script the button asks for it.
// Each form looks after itself, so two chambers can stand side by side.
for (const form of document.querySelectorAll(".record-form")) {
  const target = form.querySelector(".judgement");
  const button = form.querySelector(".next button");
  let timer, asked = 0;
  const look = async () => {
    const mine = ++asked;
    const body = new FormData(form);
    body.delete("seen");
    body.append("look", "1");
    try {
      const answer = await fetch(form.action, { method: "POST", body, keepalive: true });
      if (!answer.ok || mine !== asked) return;
      target.innerHTML = await answer.text();
      button.textContent = target.querySelector("[name=seen]") ? button.dataset.send : button.dataset.look;
    } catch { /* without a network the button still asks */ }
  };
  form.addEventListener("input", () => {
    asked++;
    clearTimeout(timer);
    timer = setTimeout(look, 500);
  });
  if (form.elements.chamber && form.elements.test_pressure.value) look();
  // What was typed in the last half second is kept too when the page goes away.
  addEventListener("pagehide", () => { if (form.elements.chamber) look(); });
}
