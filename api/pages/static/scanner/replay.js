// Kept scans are sent in order, one at a time, whichever window does it; nothing is sent twice.
import { NotAnswered, send } from "scanner/answers";
import { all, forget, keep } from "scanner/kept";

const alone = (act) => (navigator.locks ? navigator.locks.request("scans", act) : act());

/**
 * Send what waits for `user`. `answered(scan, answer)` is called for each; the first that the
 * server does not answer ends the round and is returned as why ("" where all were answered).
 */
export function replay({ user, token, answered }) {
  return alone(async () => {
    for (;;) {
      const mine = (await all()).filter((scan) => scan.user === user && scan.state === "waiting");
      if (!mine.length) return "";
      const [scan] = mine;
      let answer;
      try {
        answer = await send(scan, token);
      } catch (fault) {
        if (!(fault instanceof NotAnswered)) throw fault;
        for (const one of mine) await keep({ ...one, tried: true });
        return fault.why;
      }
      await settle(scan, answer);
      // What this phone scanned next was based on what it had just scanned itself.
      const next = mine.slice(1).filter((one) => one.url === scan.url && one.basedOn === scan.basedOn);
      if (answer.version) for (const one of next) await keep({ ...one, basedOn: answer.version });
      await answered(scan, answer);
    }
  });
}

function settle(scan, { tone, word, says }) {
  if (tone === "ok" || !scan.tried) return forget(scan.place);
  return keep({ ...scan, state: "refused", word, says });
}
