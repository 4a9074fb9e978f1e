import { ipcRenderer } from 'electron'

// The only thing that passes into the window is the port to the core. The window asks once it listens; every new core
// (after a crash, say) sends a new port in the same way.
window.addEventListener('message', (event) => {
  if (event.source === window && event.data === 'stillpoint-ask-port') ipcRenderer.send('stillpoint-ask-port')
})
ipcRenderer.on('stillpoint-port', (event) => {
  window.postMessage('stillpoint-port', window.location.origin, event.ports)
})
