// The judgement while somebody types; without a script the button asks for it.
(() => {
  const form = document.getElementById("record-form");
  const target = document.getElementById("judgement");
  const button = form?.querySelector(".next button");
  if (!form) return;
  let timer, asked = 0;
  const look = async () => {
    const mine = ++asked;
    const body = new FormData(form);
    body.delete("seen");
    body.append("look", "1");
    try {
      const answer = await fetch(form.action, { method: "POST", body });
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
})();
