// Photos: shrunk here, kept as they will be sent, and sent in pieces that go on where the server stopped.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const { store } = crew;
  const LONGEST = 2048; // px of the longer edge
  const QUALITY = 0.85;
  const PIECE = 256 * 1024; // bytes a request: lost signal costs one piece

  async function hash(blob) {
    const sum = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
    return [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  // A picture this browser cannot read, such as HEIC on most, is sent as it is: the server reads it.
  async function shrunk(file) {
    let picture;
    try {
      picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    } catch {
      return file;
    }
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const made = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    canvas.width = canvas.height = 0;
    if (!made) return file;
    return scale === 1 && file.type === "image/jpeg" && file.size <= made.size ? file : made;
  }

  // The original's own time: what the camera wrote into it (EXIF DateTimeOriginal, 0x9003), else the file's.
  async function takenAt(file) {
    const head = new DataView(await file.slice(0, 128 * 1024).arrayBuffer());
    const written = head.byteLength > 4 && head.getUint16(0) === 0xffd8 ? exifTime(head) : null;
    const at = written ?? file.lastModified ?? Date.now();
    // A picture just taken is told by the phone's clock, which is corrected like every other time.
    return Math.min(at, Date.now());
  }

  function exifTime(view) {
    try {
      for (let at = 2; at + 4 < view.byteLength && view.getUint8(at) === 0xff; at += 2 + view.getUint16(at + 2)) {
        if (view.getUint16(at) !== 0xffe1 || view.getUint32(at + 4) !== 0x45786966) continue;
        const start = at + 10;
        const little = view.getUint16(start) === 0x4949;
        const two = (where) => view.getUint16(start + where, little);
        const four = (where) => view.getUint32(start + where, little);
        const find = (directory, tag) => {
          for (let entry = 0; entry < two(directory); entry += 1) {
            const where = directory + 2 + 12 * entry;
            if (two(where) === tag) return four(where + 8);
          }
          return null;
        };
        const inner = find(four(4), 0x8769);
        const text = inner === null ? null : find(inner, 0x9003);
        if (text === null) return null;
        const read = String.fromCharCode(...new Uint8Array(view.buffer, view.byteOffset + start + text, 19));
        const parts = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)$/.exec(read);
        return parts ? new Date(parts[1], parts[2] - 1, parts[3], parts[4], parts[5], parts[6]).getTime() : null;
      }
    } catch {
      return null;
    }
    return null;
  }

  async function keep(file, { person, job, caption, about }) {
    const taken = await takenAt(file);
    const blob = await shrunk(file);
    if (!blob.size) throw new Error("empty");
    const photo = {
      key: crew.queue.uuid(), person, job, caption, about, blob, size: blob.size, sha256: await hash(blob),
      made_at: taken, state: "waiting", offset: 0, messages: [],
    };
    await store.write("photos", (photos) => void photos.add(photo));
    return photo;
  }

  // Sends one photo as far as there is signal. `ask(url, options)` answers a Response or throws.
  async function send(photo, urls, ask) {
    const opened = await told(await ask(urls.uploads, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({
        key: photo.key, job: photo.job, size: photo.size, sha256: photo.sha256, caption: photo.caption, about: photo.about,
        taken_at: new Date(photo.made_at + crew.clock.offset()).toISOString(),
      }),
    }));
    let { state, offset, message } = opened;
    while (state === "receiving") {
      const before = offset;
      const answer = await told(await ask(`${urls.uploads}${photo.key}/`, {
        method: "PATCH",
        headers: { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(offset) },
        body: photo.blob.slice(offset, offset + PIECE),
      }), true);
      ({ state, offset } = answer);
      state ??= "receiving"; // a 409 names the right offset alone
      message = answer.message ?? message;
      // Empty at the end asks the server to finish what it has; if it does not, it is asked again later.
      if (state === "receiving" && before >= photo.size && offset >= photo.size) throw new ServerSaid("not finished");
      await store.change("photos", photo.key, (row) => ({ ...row, offset }));
    }
    await store.change("photos", photo.key, (row) => ({
      ...row, state: state === "ready" ? "sent" : "refused", messages: message ? [message] : [], sent_at: Date.now(),
      blob: state === "ready" ? null : row.blob,
    }));
  }

  async function told(answer, resuming = false) {
    if (answer.ok || (resuming && answer.status === 409)) return answer.json();
    if (!resuming && answer.status === 404) return { state: "refused", message: "photoOffJob", offset: 0 };
    const said = answer.status === 400 ? await answer.json().catch(() => ({})) : {};
    if (said.state === "refused") return said;
    throw new ServerSaid(String(answer.status));
  }

  class ServerSaid extends Error {}

  crew.photos = { keep, send, shrunk, takenAt, ServerSaid };
})();
