(function () {
  "use strict";
  // A part and its row light up together under the pointer; without this, a tap on either does the same.
  function pair(element) {
    var own = element.closest("tr[id], a.piece[id]");
    if (!own) { return null; }
    var kind = own.id.slice(0, own.id.lastIndexOf("-") + 1), letter = own.id.slice(kind.length);
    var other = document.getElementById(kind + (letter.charAt(0) === "r" ? "p" : "r") + letter.slice(1));
    return other ? [own, other] : null;
  }
  function light(event, is_on) {
    var both = pair(event.target);
    if (both) { both.forEach(function (one) { one.classList.toggle("lit", is_on); }); }
  }
  document.addEventListener("mouseover", function (event) { light(event, true); });
  document.addEventListener("mouseout", function (event) { light(event, false); });
  // Ticks are kept on this device, for this very plan; where storage is refused the page works without.
  var name = "dropwise-ticks-" + document.documentElement.getAttribute("data-plan");
  var boxes = Array.prototype.slice.call(document.querySelectorAll("input[type=checkbox]"));
  try {
    (localStorage.getItem(name) || "").split(",").forEach(function (id) {
      var box = id ? document.getElementById(id) : null;
      if (box) { box.checked = true; }
    });
    document.addEventListener("change", function () {
      var ticked = boxes.filter(function (box) { return box.checked; }).map(function (box) { return box.id; });
      try { localStorage.setItem(name, ticked.join(",")); } catch (refused) { return; }
    });
  } catch (refused) { return; }
})();
