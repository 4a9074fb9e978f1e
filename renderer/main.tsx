import './client/jitless.ts'
import '@fontsource-variable/inter/wght.css'
import './style/index.css'
import { I18nProvider } from 'react-aria-components'
import { createRoot } from 'react-dom/client'
import { startJoining } from './client/connect.ts'
import { watchStation } from './client/state.ts'
import { listenLive } from './live/listen.ts'
import { followAddress, page } from './page/page.ts'
import { listenForKeys } from './shell/keys.ts'
import { Window } from './shell/Shell.connect.tsx'

document.documentElement.dataset.theme = page.getState().theme
listenForKeys()
followAddress()
void startJoining()
void watchStation()
void listenLive()
createRoot(document.getElementById('page')!).render(
  <I18nProvider locale="en-GB">
    <Window />
  </I18nProvider>,
)
