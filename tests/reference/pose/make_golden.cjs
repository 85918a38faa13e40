// Runs the networks in TensorFlow Lite's own runtime (WebAssembly build, npm package
// @tensorflow/tfjs-tflite) on a synthetic picture and prints the numbers of data/golden.csv.
// Usage: see README.md beside this file.
"use strict";
const fs = require("fs");
const path = require("path");

const [runtimeFolder, modelsFolder] = process.argv.slice(2);
const factory = require(path.resolve(runtimeFolder, "wasm/tflite_web_api_cc.js"));
const wasmBinary = fs.readFileSync(path.resolve(runtimeFolder, "wasm/tflite_web_api_cc.wasm"));

// A rough figure on a patterned ground, 0..255, in integers only so that every language agrees.
// The same formula stands in tests/support/pose_test_support.cpp.
function pixel(x, y, c, n) {
  const X = Math.floor((x * 256) / n), Y = Math.floor((y * 256) / n);
  const ellipse = (cx, cy, rx, ry) =>
    (X - cx) * (X - cx) * ry * ry + (Y - cy) * (Y - cy) * rx * rx <= rx * rx * ry * ry;
  if (ellipse(128, 50, 14, 18)) return [210, 160, 130][c];
  if (ellipse(128, 105, 28, 40)) return [40, 70, 190][c];
  if (ellipse(86, 92, 10, 40) || ellipse(170, 92, 10, 40)) return [205, 155, 125][c];
  if (ellipse(112, 180, 15, 45) || ellipse(144, 180, 15, 45)) return [30, 30, 45][c];
  if (ellipse(106, 228, 18, 8) || ellipse(150, 228, 18, 8)) return [230, 230, 225][c];
  return 110 + ((X * 3 + Y * 5 + c * 31 + (X >> 4) * (Y >> 4) * 7) % 64);
}

const strides = { 27048: 53, 2254: 7, 195: 1, 1: 1, 65536: 499, 159744: 397, 117: 1 };

const models = [
  ["detector", "pose_solution_packed_assets.data"],
  ["lite", "pose_landmark_lite.tflite"],
  ["full", "pose_landmark_full.tflite"],
  ["heavy", "pose_landmark_heavy.tflite"],
];

factory({ wasmBinary }).then((module) => {
  console.log("model,elements,index,value");
  for (const [name, file] of models) {
    const bytes = fs.readFileSync(path.join(modelsFolder, file));
    const address = module._malloc(bytes.length);
    module.HEAPU8.set(bytes, address);
    const status = module.TFLiteWebModelRunner.CreateFromBufferAndOptions(address, bytes.length, {
      numThreads: 1,
      enableWebNNDelegate: false,
      webNNDevicePreference: 0,
      enableProfiling: false,
      maxProfilingBufferEntries: 0,
    });
    if (!status.ok()) throw new Error(status.errorMessage());
    const runner = status.value();
    const input = runner.GetInputs().get(0);
    const n = name === "detector" ? 224 : 256;
    const data = input.data();
    let at = 0;
    for (let y = 0; y < n; ++y)
      for (let x = 0; x < n; ++x)
        for (let c = 0; c < 3; ++c) {
          const v = pixel(x, y, c, n);
          data[at++] = name === "detector" ? v / 127.5 - 1 : v / 255;
        }
    if (!runner.Infer()) throw new Error("inference failed: " + name);
    const outputs = runner.GetOutputs();
    for (let o = 0; o < outputs.size(); ++o) {
      const values = outputs.get(o).data();
      const stride = strides[values.length];
      for (let i = 0; i < values.length; i += stride)
        console.log(`${name},${values.length},${i},${Number(values[i]).toPrecision(8)}`);
    }
  }
});
