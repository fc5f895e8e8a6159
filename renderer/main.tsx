import '@fontsource-variable/archivo/wdth.css'
import './app/base.css'
import '@mantine/core/styles.layer.css'
import { setNonce } from 'get-nonce'
import { createRoot } from 'react-dom/client'
import { offerInstalling } from '#renderer/client/installed.ts'
import { speakChosen } from '#renderer/client/speech.ts'

const nonce = document.querySelector<HTMLMetaElement>('meta[property="csp-nonce"]')?.nonce ?? ''
setNonce(nonce)
const root = document.getElementById('root')
if (!root) throw new Error('index.html has no element with the id root')
await speakChosen()
const { App } = await import('#renderer/app/app.tsx')
createRoot(root).render(<App nonce={nonce} />)
offerInstalling()
