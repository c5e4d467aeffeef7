/* Puts drawings into the page. A drawing travels as text in the attribute data-drawing of an empty element, which is
   what a framework can carry; here it becomes the element's content, at first sight and whenever the text changes. */
(function () {
  "use strict";
  const mounted = new WeakMap();

  function mount(element) {
    const text = element.getAttribute("data-drawing");
    if (text === null || mounted.get(element) === text) return false;
    mounted.set(element, text);
    element.innerHTML = text;
    element.querySelectorAll(".pl-scroll").forEach(reachable);
    return true;
  }

  /* A drawing wider than the page scrolls sideways; then, and only then, it must be reachable by key. */
  function reachable(box) {
    if (box.scrollWidth > box.clientWidth + 1) box.setAttribute("tabindex", "0");
    else box.removeAttribute("tabindex");
  }

  function mountAll(root) {
    let some = false;
    if (root.nodeType !== Node.ELEMENT_NODE) return false;
    if (root.hasAttribute("data-drawing")) some = mount(root);
    root.querySelectorAll("[data-drawing]").forEach((element) => { some = mount(element) || some; });
    return some;
  }

  function watch(changes) {
    let some = false;
    for (const change of changes) {
      if (change.type === "attributes") some = mountAll(change.target) || some;
      else change.addedNodes.forEach((node) => { some = mountAll(node) || some; });
    }
    if (some) document.dispatchEvent(new CustomEvent("passline:drawn"));
  }

  function start() {
    if (mountAll(document.documentElement)) document.dispatchEvent(new CustomEvent("passline:drawn"));
    new MutationObserver(watch).observe(document.documentElement, {
      childList: true, subtree: true, attributes: true, attributeFilter: ["data-drawing"],
    });
    window.addEventListener("resize", () => document.querySelectorAll(".pl-scroll").forEach(reachable));
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
