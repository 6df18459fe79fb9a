"""Reads a QR code out of a page as a camera would: drawn, and decoded by OpenCV."""

import re

import cv2
import numpy


def read_qr(page: str) -> str:
    """What the page's QR code says; its SVG is a path of dark runs, a unit high each."""
    found = re.search(r'<svg[^>]* width="(\d+)".*?scale\((\d+)\).*?class="qrline"[^>]* d="([^"]+)"', page)
    assert found, "there is no QR code on the page"
    side = int(found[1]) // int(found[2])
    picture = numpy.full((side, side), 255, numpy.uint8)
    x = y = 0.0
    for command, text in re.findall(r"([Mmh])([-0-9. ]+)", found[3]):
        values = [float(value) for value in re.findall(r"-?[0-9.]+", text)]
        if command == "h":
            picture[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
        else:
            x, y = (values[0], values[1]) if command == "M" else (x + values[0], y + values[1])
    big = cv2.resize(picture, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
    return str(cv2.QRCodeDetector().detectAndDecode(big)[0])
