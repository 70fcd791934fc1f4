// What an answer sounds and feels like; either can be switched off, and the phone remembers it.
const SIGNALS = {
  ok: { wave: "sine", tones: [[660, 0, 0.09], [990, 0.1, 0.18]], buzz: [60] },
  fail: { wave: "square", tones: [[140, 0, 0.24], [140, 0.32, 0.24], [140, 0.64, 0.24]], buzz: [260, 90, 260, 90, 260] },
  unknown: { wave: "triangle", tones: [[330, 0, 0.3]], buzz: [130, 80, 130] },
};
let context;

const wanted = (name) => {
  try {
    return localStorage.getItem(`scanner.${name}`) !== "off";
  } catch {
    return true; // a browser that keeps nothing
  }
};

/** Give the signal of an answer: "ok" rises, "fail" is low and comes three times. */
export function signal(tone) {
  const { wave, tones, buzz } = SIGNALS[tone] ?? SIGNALS.unknown;
  // A browser lets no page shake the phone before a finger has touched it.
  if (wanted("vibration") && navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(buzz);
  if (!wanted("sound") || !window.AudioContext) return;
  context ??= new AudioContext();
  context.resume();
  for (const [pitch, from, length] of tones) {
    const voice = new OscillatorNode(context, { type: wave, frequency: pitch });
    const level = new GainNode(context, { gain: 0.25 });
    voice.connect(level).connect(context.destination);
    voice.start(context.currentTime + from);
    voice.stop(context.currentTime + from + length);
  }
}

/** Let the two boxes of the page show and keep what is wanted. */
export function offerSwitches(box) {
  box.hidden = false;
  for (const name of ["sound", "vibration"]) {
    const tick = box.querySelector(`#${name}`);
    tick.checked = wanted(name);
    tick.onchange = () => {
      localStorage.setItem(`scanner.${name}`, tick.checked ? "on" : "off");
      if (tick.checked) signal("ok");
    };
  }
}
