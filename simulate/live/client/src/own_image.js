// An image of the user's on the screen: fitted with black bars into the picture's shape, and its mean levels in the 16 x 12 zones.

const ACROSS = 16, DOWN = 12, WIDE = 960;
const LARGEST_BYTES = 40_000_000;

/** { canvas, zones } of a file; zones (192 x 3) are linear levels 0 .. 1 by exact areas of pixels. Throws with a sentence. */
export async function ownImage(file, aspect) {
  if (file.size > LARGEST_BYTES) throw new Error(`${file.name} is larger than 40 MB.`);
  let image;
  try {
    image = await createImageBitmap(file);
  } catch {
    throw new Error(`${file.name} is no picture that this browser reads.`);
  }
  const width = WIDE - (WIDE % ACROSS), height = Math.max(DOWN, Math.round(width / aspect / DOWN) * DOWN);
  const canvas = document.createElement("canvas");
  Object.assign(canvas, { width, height });
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.fillStyle = "black";
  pen.fillRect(0, 0, width, height);
  const scale = Math.min(width / image.width, height / image.height);
  const size = [image.width * scale, image.height * scale];
  pen.imageSmoothingQuality = "high";
  pen.drawImage(image, (width - size[0]) / 2, (height - size[1]) / 2, ...size);
  image.close();
  return { canvas, zones: zonesOf(pen.getImageData(0, 0, width, height)), name: file.name };
}

const LINEAR = Float32Array.from({ length: 256 }, (_, code) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
});

function zonesOf({ data, width, height }) {
  const sums = Array.from({ length: ACROSS * DOWN }, () => [0, 0, 0]);
  for (let y = 0; y < height; y += 1) {
    const row = Math.floor((y * DOWN) / height) * ACROSS;
    for (let x = 0; x < width; x += 1) {
      const zone = sums[row + Math.floor((x * ACROSS) / width)], at = 4 * (y * width + x);
      zone[0] += LINEAR[data[at]];
      zone[1] += LINEAR[data[at + 1]];
      zone[2] += LINEAR[data[at + 2]];
    }
  }
  const share = (ACROSS * DOWN) / (width * height);
  return sums.map((zone) => zone.map((each) => Math.min(1, each * share)));
}
