/* What a printed sheet is worth, by the short code at its foot. The codes and differences are in sheets-data.js. */

(function (HB) {
  "use strict";

  var field = /** @type {HTMLInputElement | null} */ (document.getElementById("hb-sheet-code"));
  var told = document.getElementById("hb-sheet-told");
  if (!field || !told || !HB.sheets) return;
  var data = HB.sheets;
  var answer = told;

  /** @param {string | Node} said @param {string} [kind] */
  function put(said, kind) {
    answer.append(HB.make("p", kind ? { class: kind } : {}, [said]));
  }

  /** @param {string[]} lines */
  function list(lines) {
    var items = lines.map(function (line) {
      return HB.make("li", {}, line);
    });
    answer.append(HB.make("ul", {}, items));
  }

  /** @param {string} code */
  function tell(code) {
    answer.textContent = "";
    if (code.length < 6) {
      if (code) put("A code has six signs, as at the foot of each sheet.");
      return;
    }
    var found = data.codes[code];
    if (!found) {
      put("Take it down: no recorded edition has a sheet of this code.", "hb-stop");
      put("Read the code once more. If it is right, nobody can tell what the sheet rests on.");
      return;
    }
    var edition = data.editions[found[0]];
    var sheet = data.sheets[found[1]];
    var what = (sheet ? sheet[0] : found[1]) + ", edition " + edition.title + ". ";
    var differs = data.differing[found[0] + " " + found[1]];
    var draft = !data.editions[data.now].approved;
    if (!edition.approved) {
      put(what + "Take it down: a draft, not for the bench.", "hb-stop");
    } else if (!sheet) {
      put(what + "Take it down: the handbook has no such page any more.", "hb-stop");
    } else if (!differs) {
      var same = found[0] === data.now || edition.title === data.editions[data.now].title;
      put(what + (same ? "It is current." : "It still holds: nothing on it has changed since."), "hb-go");
    } else if (draft) {
      put(
        what + "It holds until the draft of edition " + data.editions[data.now].title + " is approved.",
        "hb-wait",
      );
      list(differs.told);
    } else {
      put(what + "Take it down and print it again: other " + differs.what + " now.", "hb-stop");
      list(differs.told);
    }
    if (sheet) {
      put(HB.make("a", { href: HB.inSite(sheet[1]) }, "The page as it is now, sheet " + sheet[2]));
    }
  }

  /** Dashes and blanks are left out: a code is read aloud and typed as it comes. */
  function read() {
    if (field) tell(field.value.toUpperCase().replace(/[^A-Z0-9]/g, ""));
  }

  field.disabled = false;
  field.addEventListener("input", read);
  read();
})((window.HB = window.HB || /** @type {any} */ ({})));
