// Two bores' tones, one heard at a time, switched between at the same place of the sound.
"use strict";
(() => {
  for (const player of document.querySelectorAll(".listen")) {
    const bar = player.querySelector(".two"), tones = [...player.querySelectorAll("audio")];
    const part = name => bar.querySelector(`[name="${name}"]`);
    const sides = { a: part("a"), b: part("b") };
    const play = part("play"), swap = part("swap"), told = bar.querySelector("[role=status]");
    let side = "a", heard = null;

    // a sound that is stopped before it has begun is no fault
    const start = one => one.play().catch(error => {
      if (error.name !== "AbortError") console.error(error);
    });
    const level = () => bar.querySelector("input:checked").value;
    const wanted = () => tones.find(
      one => one.dataset.bore === sides[side].value && one.dataset.level === level());
    function tell() {
      const name = side.toUpperCase(), other = side === "a" ? "B" : "A";
      const bore = sides[side].selectedOptions[0].textContent;
      play.textContent = heard ? "Stop" : "Play";
      swap.textContent = `Switch to ${other}`;
      told.textContent = `${heard ? "You hear" : "Ready:"} ${name}, ${bore}, ${level()}`
        + (wanted() ? "" : ": there is no sound of it");
    }
    // Goes on where the other one was: all sounds are of one length and repeat.
    function change() {
      const next = wanted();
      if (heard && next !== heard) {
        const place = heard.currentTime;
        heard.pause();
        heard = next ?? null;
        if (next) {
          next.currentTime = place % (next.duration || Infinity);
          start(next);
        }
      }
      tell();
    }
    play.addEventListener("click", () => {
      if (heard) {
        heard.pause();
        heard = null;
      } else if ((heard = wanted() ?? null)) {
        heard.currentTime = 0;
        start(heard);
      }
      tell();
    });
    swap.addEventListener("click", () => {
      side = side === "a" ? "b" : "a";
      change();
    });
    for (const [name, list] of Object.entries(sides))
      list.addEventListener("change", () => {
        side = name;
        change();
      });
    for (const one of bar.querySelectorAll("input")) one.addEventListener("change", change);
    // A sound's own controls: what else sounds then stops.
    for (const one of tones) {
      one.addEventListener("play", () => {
        tones.filter(other => other !== one).forEach(other => other.pause());
        if (heard && heard !== one) heard = null;
        tell();
      });
      one.addEventListener("pause", () => {
        if (heard === one && one.paused) heard = null;
        tell();
      });
    }
    sides.b.selectedIndex = Math.min(1, sides.b.options.length - 1);
    bar.hidden = false;
    tell();
  }
})();
