'use strict';

/* A page has the meaning of a term at its first use; this script copies it to the other uses. */
(function () {
  const meanings = new Map();
  for (const one of document.querySelectorAll('a.sb-term')) {
    if (one.title) meanings.set(one.hash, one.title);
    else one.title = meanings.get(one.hash) ?? '';
  }
})();
