/* Buttons that print their page: they show where this script runs. */

(() => {
  "use strict";

  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
})();
