// Gives the sound of an answer that came with the page, once; not on a reload.
const box = document.querySelector("#told .answer");
const { signal } = await import(document.getElementById("aloud").dataset.signals);
const [way] = performance.getEntriesByType("navigation");
const tone = ["ok", "fail", "unknown"].find((one) => box?.classList.contains(one));
if (tone && way?.type === "navigate") signal(tone);
