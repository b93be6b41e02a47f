// The last resort: everything that this device has not handed over, as a file that `pupilage import taps` reads.

export async function unsentFile(queue) {
  const [unsent, refused] = [await queue.unsent(), await queue.refused()];
  return {
    format: "pupilage-taps", version: 1, written_at: new Date().toISOString(),
    taps: [...unsent, ...refused].map(({ owner, event }) => ({ owner, event })),
  };
}

export async function saveToFile(queue) {
  const text = JSON.stringify(await unsentFile(queue), null, 1);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.download = `pupilage-taps-${new Date().toISOString().slice(0, 10)}.json`;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}
