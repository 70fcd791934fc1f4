// Runs in a worker, after the reader: from a picture to the texts of the QR symbols in it.
const OPTIONS = { formats: ["QRCodeModel2"], tryHarder: true, maxNumberOfSymbols: 4 };
let pencil;

const pixels = (picture) => {
  pencil ??= new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  if (pencil.canvas.width !== picture.width) pencil.canvas.width = picture.width;
  if (pencil.canvas.height !== picture.height) pencil.canvas.height = picture.height;
  pencil.drawImage(picture, 0, 0);
  picture.close();
  return pencil.getImageData(0, 0, pencil.canvas.width, pencil.canvas.height);
};

self.onmessage = async ({ data }) => {
  try {
    if (data.wasm) {
      const overrides = { locateFile: () => data.wasm };
      await ZXingWASM.prepareZXingModule({ overrides, fireImmediately: true });
      self.postMessage({ ready: true });
      return;
    }
    const found = await ZXingWASM.readBarcodes(pixels(data.picture), OPTIONS);
    self.postMessage({ texts: found.filter((one) => one.isValid).map((one) => one.text) });
  } catch (fault) {
    self.postMessage({ fault: String(fault) });
  }
};
