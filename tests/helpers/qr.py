"""Reads a QR code off a screen as an independent reader sees it (OpenCV)."""

import cv2
import numpy as np


def read_qr(screenshot: bytes) -> str:
    """What the QR code in a PNG says, or ""."""
    image = cv2.imdecode(np.frombuffer(screenshot, np.uint8), cv2.IMREAD_COLOR)
    assert image is not None
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(cv2.resize(image, None, fx=2, fy=2))
    return str(text)
