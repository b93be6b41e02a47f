// A tap that the server never answered must not look as if it had been written down.
"use strict";

for (const kind of ["htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(kind, (event) => {
    const trouble = document.getElementById("trouble");
    if (!trouble || event.detail.requestConfig.verb === "get") return;
    const words = document.createElement("p");
    words.className = "problem";
    words.textContent = trouble.dataset.silent;
    trouble.replaceChildren(words);
  });
}
