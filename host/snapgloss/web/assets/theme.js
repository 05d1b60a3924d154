// Before anything is drawn: light or dark as chosen on this device, else as the device is set.
(() => {
  let chosen = null;
  try { chosen = localStorage.getItem("snapgloss.theme"); } catch { /* storage is shut */ }
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  document.documentElement.dataset.theme = chosen ?? (dark ? "dark" : "light");
})();
