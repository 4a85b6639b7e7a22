'use strict';

/* The meaning of a word stands where the page has it first; here it is lent to the word's other places. */
(function () {
  const told = new Map();
  for (const one of document.querySelectorAll('a.sb-term')) {
    if (one.title) told.set(one.hash, one.title);
    else one.title = told.get(one.hash) ?? '';
  }
})();
