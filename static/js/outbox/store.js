// Where taps wait: IndexedDB, written through to the disk before a tap counts as made.
let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open("doorside", 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("taps", { keyPath: "n", autoIncrement: true });
      request.result.createObjectStore("counters");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opening;
}

async function transaction(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const tx = db.transaction(["taps", "counters"], mode, { durability: "strict" });
    let result;
    tx.oncomplete = () => resolve(result?.result ?? result);
    tx.onerror = tx.onabort = () => reject(tx.error);
    result = work(tx.objectStore("taps"), tx.objectStore("counters"));
  });
}

// Gives the tap its station's next number and keeps it, both or neither.
export function keep(tap) {
  return transaction("readwrite", (taps, counters) => {
    const last = counters.get(tap.station);
    last.onsuccess = () => {
      tap.counter = (last.result ?? 0) + 1;
      counters.put(tap.counter, tap.station);
      taps.add({ tap, refused: null });
    };
    return tap;
  });
}

// Every row, oldest first: { n, tap, refused, held, seen }. refused and held are the server's answer; such rows stay here.
export const rows = () => transaction("readonly", (taps) => taps.getAll());
export const drop = (numbers) => transaction("readwrite", (taps) => { for (const n of numbers) taps.delete(n); });
export const mark = (rows) => transaction("readwrite", (taps) => { for (const row of rows) taps.put(row); });
