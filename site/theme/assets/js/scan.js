'use strict';

/* Where the browser reads square codes with its camera, a button offers it. Typing always works. */
(function () {
  const { make } = window.sizebookKit;
  const PAUSE = 250;

  document.addEventListener('sizebook:asker', async (event) => {
    if (!('BarcodeDetector' in window) || !navigator.mediaDevices?.getUserMedia) return;
    const formats = await window.BarcodeDetector.getSupportedFormats().catch(() => []);
    if (formats.includes('qr_code')) offer(event.detail);
  });

  function offer({ row, read }) {
    const detector = new window.BarcodeDetector({ formats: ['qr_code'] });
    const video = make('video', { playsinline: true, muted: true, 'aria-label': 'What the camera sees' });
    const words = make('p', { role: 'status' });
    const stage = make('div', { class: 'sb-scan', hidden: true }, video, words);
    const button = make('button', { type: 'button', class: 'sb-button', on: { click: () => (stream ? stop() : begin()) } }, 'Use the camera');
    let stream = null;
    row.append(button);
    row.after(stage);

    async function begin() {
      try {
        stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' }, audio: false });
      } catch {
        stage.hidden = false;
        words.textContent = 'No camera is available here. Type the code.';
        return;
      }
      button.textContent = 'Stop the camera';
      words.textContent = 'Hold the square code of the sheet in front of the camera.';
      stage.hidden = false;
      video.srcObject = stream;
      await video.play();
      look();
    }

    async function look() {
      if (!stream) return;
      const [found] = await detector.detect(video).catch(() => []);
      if (!found) return setTimeout(look, PAUSE);
      stop();
      read(found.rawValue);
    }

    function stop() {
      stream.getTracks().forEach((track) => track.stop());
      stream = null;
      video.srcObject = null;
      stage.hidden = true;
      button.textContent = 'Use the camera';
    }
  }
})();
