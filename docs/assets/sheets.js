/* What a printed sheet is worth, by the short code at its foot. The codes and differences are in
   sheets-data.js, which grows with each edition: it is loaded once the page is there. */

(function (HB) {
  "use strict";

  var field = /** @type {HTMLInputElement | null} */ (document.getElementById("hb-sheet-code"));
  var told = document.getElementById("hb-sheet-told");
  if (!field || !told) return;
  var answer = told;

  /** @param {string} name @param {string} text @param {string} [kind] */
  function put(name, text, kind) {
    var node = document.createElement(name);
    node.textContent = text;
    if (kind) node.className = kind;
    answer.appendChild(node);
    return node;
  }

  /** @param {string[]} lines */
  function list(lines) {
    var list = put("ul", "");
    lines.forEach(function (line) {
      var item = document.createElement("li");
      item.textContent = line;
      list.appendChild(item);
    });
  }

  /** @param {string} code */
  function tell(code) {
    answer.textContent = "";
    if (code.length < 6) {
      if (code) put("p", "A code has six signs, as at the foot of each sheet.");
      return;
    }
    var data = HB.sheets;
    if (!data) return;
    var found = data.codes[code];
    if (!found) {
      put("p", "Take it down: no recorded edition has a sheet of this code.", "hb-stop");
      put("p", "Read the code once more. If it is right, nobody can tell what the sheet rests on.");
      return;
    }
    var edition = data.editions[found[0]];
    var sheet = data.sheets[found[1]];
    var what = (sheet ? sheet[0] : found[1]) + ", edition " + edition.title + ". ";
    var differs = data.differing[found[0] + " " + found[1]];
    var draft = !data.editions[data.now].approved;
    if (!edition.approved) {
      put("p", what + "Take it down: a draft, not for the bench.", "hb-stop");
    } else if (!sheet) {
      put("p", what + "Take it down: the handbook has no such page any more.", "hb-stop");
    } else if (!differs) {
      var same = found[0] === data.now || edition.title === data.editions[data.now].title;
      put(
        "p",
        what + (same ? "It is current." : "It still holds: nothing on it has changed since."),
        "hb-go",
      );
    } else if (draft) {
      put(
        "p",
        what + "It holds until the draft of edition " + data.editions[data.now].title + " is approved.",
        "hb-wait",
      );
      list(differs.told);
    } else {
      put("p", what + "Take it down and print it again: other " + differs.what + " now.", "hb-stop");
      list(differs.told);
    }
    if (sheet) {
      var link = document.createElement("a");
      link.href = "../" + sheet[1];
      link.textContent = "The page as it is now, sheet " + sheet[2];
      put("p", "").appendChild(link);
    }
  }

  /** Dashes and blanks are left out: a code is read aloud and typed as it comes. */
  function read() {
    if (field) tell(field.value.toUpperCase().replace(/[^A-Z0-9]/g, ""));
  }

  function open() {
    if (!field) return;
    field.disabled = false;
    field.addEventListener("input", read);
    read();
  }

  if (HB.sheets) open();
  else
    HB.load("assets/sheets-data.js", () => HB.sheets).then(open, () => {
      put(
        "p",
        "The file assets/sheets-data.js is not beside the pages, so no code can be read. Copy the whole folder of the site.",
        "hb-fault",
      );
    });
})((window.HB = window.HB || /** @type {any} */ ({})));
