// What scripts say, in the language of the page: the English phrase finds its translation there.
const block = document.getElementById("phrases");
const phrases = block ? JSON.parse(block.textContent) : {};

/** `phrase` in the language of the page, with `figures` in the place of their names in braces. */
export const _ = (phrase, figures = {}) =>
  (phrases[phrase] ?? phrase).replace(/\{(\w+)\}/g, (whole, name) => figures[name] ?? whole);
