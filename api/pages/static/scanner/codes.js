// A tag's code as the server reads it: thirteen symbols, the last one by ISO/IEC 7064 MOD 37-2.
const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const CHECKS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";
const ADDRESS = /^https?:\/\/([^/?#\\]*)\/t\/([^/?#\\]*)\/?(?:[?#].*)?$/is;
const LONGEST = 200;

/** The thirteen symbols that `text` means, or "" where it is no code or does not check. */
export function compact(text) {
  if (text.length > 64 || !/^[\x20-\x7e]*$/.test(text)) return "";
  const symbols = text.replace(/[ -]/g, "").toUpperCase().replace(/O/g, "0").replace(/[IL]/g, "1");
  if (symbols.length !== 13 || [...symbols].some((symbol) => !ALPHABET.includes(symbol))) return "";
  let sum = 0;
  for (const symbol of symbols.slice(0, -1)) sum = ((sum + CHECKS.indexOf(symbol)) * 2) % 37;
  return CHECKS[(38 - sum) % 37] === symbols[12] ? symbols : "";
}

/** The code in what a camera read: bare, or in an address of one of `hosts` (in small letters). */
export function codeIn(text, hosts) {
  if (text.length > LONGEST) return "";
  const address = ADDRESS.exec(text);
  if (!address) return compact(text);
  return hosts.includes(address[1].toLowerCase()) ? compact(address[2]) : "";
}

/** A code as it is printed: four, four and five symbols. */
export const shown = (code) => `${code.slice(0, 4)} ${code.slice(4, 8)} ${code.slice(8)}`;
