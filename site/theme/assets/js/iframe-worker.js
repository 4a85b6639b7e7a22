'use strict';

/* A browser refuses `new Worker(…)` to a page opened from disk. The search needs no second thread, only a place of
   its own: an empty frame of this page, in which the worker's script is run and spoken to as if it were a worker. */
(function () {
  if (location.protocol !== 'file:') return;

  class FrameWorker extends EventTarget {
    #frame = document.createElement('iframe');
    #waiting = [];
    #ready = false;

    constructor(url) {
      super();
      const script = new URL(url, document.baseURI).href;
      this.#frame.hidden = true;
      this.#frame.title = 'search';
      this.#frame.setAttribute('aria-hidden', 'true');
      this.#frame.tabIndex = -1;
      this.#frame.srcdoc = '<!doctype html><title>search</title>';
      this.#frame.addEventListener('load', () => this.#run(script), { once: true });
      document.documentElement.append(this.#frame);
    }

    postMessage(data) {
      if (this.#ready) this.#tell(data);
      else this.#waiting.push(data);
    }

    terminate() {
      this.#frame.remove();
    }

    #run(script) {
      const inside = this.#frame.contentWindow;
      inside.postMessage = (data) => this.#answer(new MessageEvent('message', { data }));
      const element = inside.document.createElement('script');
      element.addEventListener('load', () => {
        this.#ready = true;
        this.#waiting.splice(0).forEach((data) => this.#tell(data));
      });
      element.addEventListener('error', () => this.#answer(new Event('error')));
      element.src = script;
      inside.document.head.append(element);
    }

    #tell(data) {
      const inside = this.#frame.contentWindow;
      if (inside) setTimeout(() => inside.dispatchEvent(new inside.MessageEvent('message', { data })));
    }

    #answer(event) {
      if (event.type === 'message' && this.onmessage) this.onmessage(event);
      this.dispatchEvent(event);
    }
  }

  window.Worker = FrameWorker;
})();
