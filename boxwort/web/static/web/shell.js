// Says in the notice area when the site gave no answer; htmx itself stays silent then.
"use strict";

for (const event of ["htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(event, () => {
    const note = document.createElement("p");
    note.className = "note note-error";
    note.textContent = "The site did not answer. Check the connection, then try again.";
    document.getElementById("notice").replaceChildren(note);
    window.scrollTo({ top: 0 });
  });
}
