'use strict';

/* The strip of stations marks the one that is being read, and keeps it in sight. */
(function () {
  for (const strip of window.sizebookKit.places('strip')) {
    const links = [...strip.querySelectorAll('a')];
    const parts = links.map((link) => document.getElementById(link.hash.slice(1))).filter(Boolean);
    let waiting = 0;
    const soon = () => (waiting ||= requestAnimationFrame(look));
    window.addEventListener('scroll', soon, { passive: true });
    window.addEventListener('hashchange', look);
    new ResizeObserver(soon).observe(document.body); // a late font or drawing moves the parts without a scroll
    look();

    function look() {
      waiting = 0;
      const line = strip.getBoundingClientRect().bottom + 80;
      const end = scrollY + innerHeight >= document.documentElement.scrollHeight - 2;
      const asked = end && parts.find((part) => part.matches(':target') && part.getBoundingClientRect().top < innerHeight);
      const here = asked || (end ? parts.at(-1) : parts.findLast((part) => part.getBoundingClientRect().top < line) ?? parts[0]);
      for (const link of links) {
        const now = link.hash === `#${here.id}`;
        if (now === link.hasAttribute('aria-current')) continue;
        if (now) link.setAttribute('aria-current', 'location');
        else link.removeAttribute('aria-current');
        if (now) strip.scrollTo({ left: link.offsetLeft - strip.offsetLeft - strip.clientWidth / 2 + link.offsetWidth / 2 });
      }
    }
  }
})();
