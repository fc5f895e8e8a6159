import '@fontsource-variable/archivo/wdth.css'
import './app/base.css'
import '@mantine/core/styles.layer.css'
import { setNonce } from 'get-nonce'
import { createRoot } from 'react-dom/client'
import { App } from '#renderer/app/app.tsx'

const nonce = document.querySelector<HTMLMetaElement>('meta[property="csp-nonce"]')?.nonce ?? ''
setNonce(nonce)
const root = document.getElementById('root')
if (!root) throw new Error('index.html has no element with the id root')
createRoot(root).render(<App nonce={nonce} />)
